//! Hand-made results for the tests of the figures: plausible in size, invented.

use ogee_design::{
    Balance, CrackResult, Design, GratingData, InterfaceResult, IslandPoint, IslandResult, Islands, Life,
    LifeBlock, LifeLayer, LifeResult, Place, Process, StackLayer, ThermalLayer, ThermalResult, ThermalStep,
    Trace, TraceResult, WrapDuty, WrapFace, WrapLayer, WrapResult, WrinkleResult,
};

/// Layers from bottom to top: name, thickness in µm.
const LAYERS: [(&str, f64); 5] = [
    ("carrier film of polyimide", 12.5),
    ("lower cladding", 6.0),
    ("glass core", 0.8),
    ("supply trace", 1.5),
    ("soft encapsulation", 8.0),
];

/// A design with everything.
pub(super) fn design() -> Design {
    let mut design = Design::sample();
    let mut names: Vec<StackLayer> = design.stack.layers.clone();
    names.truncate(0);
    for (name, thickness) in LAYERS {
        let mut layer = StackLayer::plain(name);
        name.clone_into(&mut layer.material);
        layer.thickness_um = thickness;
        names.push(layer);
    }
    names[2].allowable_compression_percent = Some(0.9);
    design.stack.layers = names;
    if let Some(light) = &mut design.light {
        "glass core".clone_into(&mut light.core);
    }
    design.duty.wrap = Some(WrapDuty::default());
    design.process = Some(Process { bow_limit_um: Some(60.0), ..Process::plain(LAYERS.map(|l| l.0), 180.0) });
    design.life = Some(Life::to_target(35.0));
    design.islands = Some(Islands { grating: Some(GratingData::default()), ..Islands::default() });
    design.trace = Some(Trace::copper("supply trace"));
    design
}

/// Strain that grows evenly, split at the soft layer on top.
pub(super) fn wrap() -> WrapResult {
    let mut z = 0.0;
    let mut heights = vec![z];
    for (_, thickness) in LAYERS {
        z += thickness;
        heights.push(z);
    }
    let strain = |z: f64, plane: f64| 100.0 * (z - plane) / 3500.0;
    let faces = heights
        .iter()
        .map(|&z| {
            let (below, above) =
                if z < 19.5 { (strain(z, 9.0), strain(z, 9.0)) } else { (strain(z, 11.0), strain(z, 25.0)) };
            WrapFace {
                z_um: z,
                bonded_percent: strain(z, 12.1),
                middle_percent: strain(z, 12.8),
                split_percent: if z > 25.0 {
                    [above, above]
                } else if z < 15.0 {
                    [below, below]
                } else {
                    [below, above]
                },
            }
        })
        .collect();
    let layers = LAYERS
        .iter()
        .enumerate()
        .map(|(i, (name, _))| WrapLayer {
            name: (*name).to_owned(),
            wrap_percent: [strain(heights[i + 1], 12.8), strain(heights[i], 12.8)],
            pull_percent: [0.31, -0.12],
            residual_percent: [0.04, -0.08],
            together_percent: [strain(heights[i + 1], 12.8) + 0.35, strain(heights[i], 12.8) - 0.2],
            allowable_strain_percent: [3.0, 0.9, 0.6, 0.75, 12.0][i],
            margin: [6.1, 1.6, 1.23, 1.34, 20.0][i],
        })
        .collect();
    WrapResult {
        radius_um: 3500.0,
        face: "bottom".to_owned(),
        curvature_per_um: 1.0 / 3506.0,
        length_um: 5200.0,
        neutral_plane_um: 12.1,
        thickness_um: 28.8,
        shear_length_um: Some(41.0),
        faces,
        layers,
        least_radius_um: Some(1180.0),
        least_radius_stretched_um: Some(2410.0),
        governing_layer: Some("glass core".to_owned()),
        largest_shear: 0.018,
        shear_layer: Some("soft encapsulation".to_owned()),
        stiffness_un_um2: [4.1e5, 4.3e5, 4.8e5],
        balance: vec![Balance {
            layer: "soft encapsulation".to_owned(),
            index: 4,
            thickness_um: 8.0,
            balanced_um: 14.2,
            into: "glass core".to_owned(),
        }],
        model: "plies bent round a cylinder, shear lag in soft layers".to_owned(),
        validity: vec!["the wrapped length is only 12 times the shear length".to_owned()],
    }
}

/// Five layers deposited, released, and used between −20 and 60 °C.
pub(super) fn thermal() -> ThermalResult {
    let layer = |i: usize, stress: f64, slope: f64| ThermalLayer {
        name: LAYERS[i].0.to_owned(),
        stress_mpa: [stress - slope, stress + slope],
        strain_percent: [0.01, 0.02],
    };
    let step = |words: &str, temperature_c: f64, present: usize, bow: Option<f64>, shift: f64| ThermalStep {
        words: words.to_owned(),
        temperature_c,
        curvature_per_um: if bow.is_some() { 1e-8 } else { -4.2e-4 },
        bow_um: bow,
        layers: (0..present)
            .map(|i| layer(i, [21.0, 14.0, -83.0, 118.0, 0.4][i] * shift, 1.5 * shift))
            .collect(),
    };
    let mut steps = vec![
        step("deposit carrier film of polyimide", 180.0, 1, Some(3.0), 0.1),
        step("deposit lower cladding", 180.0, 2, Some(6.0), 0.2),
        step("deposit glass core", 180.0, 3, Some(-9.0), 0.5),
        step("deposit supply trace", 90.0, 4, Some(24.0), 0.8),
        step("bond soft encapsulation", 60.0, 5, Some(31.0), 0.9),
        step("hold", 20.0, 5, Some(38.0), 1.0),
    ];
    steps.push(step("release", 20.0, 5, None, 0.55));
    ThermalResult {
        steps,
        service: vec![step("coldest use", -20.0, 5, None, 0.7), step("warmest use", 60.0, 5, None, 0.35)],
        released: true,
        largest_bow_um: Some(38.0),
        curl_radius_um: Some(-2380.0),
        cracks: vec![CrackResult {
            layer: "glass core".to_owned(),
            base: "lower cladding".to_owned(),
            when: "in the coldest use".to_owned(),
            stress_mpa: 41.0,
            factor: Some(3.2),
            drive_j_per_m2: Some(0.9),
            toughness_j_per_m2: 7.6,
            critical_thickness_um: Some(6.8),
            critical_without_buffer_um: Some(4.1),
            words: "the cladding is softer than the film, which raises the drive".to_owned(),
        }],
        interfaces: vec![InterfaceResult {
            below: "glass core".to_owned(),
            above: "supply trace".to_owned(),
            when: "after the release".to_owned(),
            bound_j_per_m2: 0.21,
        }],
        wrinkles: vec![WrinkleResult {
            layer: "supply trace".to_owned(),
            base: "soft encapsulation".to_owned(),
            compression_percent: 0.02,
            limit_percent: 0.41,
            wavelength_um: 63.0,
        }],
        model: "layers bent as one plate at every step".to_owned(),
        validity: vec!["the handle bends by more than its thickness".to_owned()],
    }
}

/// A trace that lasts and a core that mostly holds.
pub(super) fn life() -> LifeResult {
    let block = LifeBlock {
        amplitude_percent: 0.21,
        mean_percent: 0.23,
        cycles: Some([2.1e5, 8.4e5, 3.0e6]),
        damage: Some(0.6),
    };
    let metal = LifeLayer {
        name: "supply trace".to_owned(),
        rule: "strain-life".to_owned(),
        place: Place { words: "crests, inner edge".to_owned(), ..Place::default() },
        blocks: vec![
            block,
            LifeBlock { cycles: Some([1.1e3, 4.0e3, 2.2e4]), amplitude_percent: 0.8, ..block },
        ],
        damage: Some(1.2),
        stress_mpa: None,
        stressed_length_um: None,
        survival_percent: None,
        allowed_stress_mpa: None,
        share_of_proof: None,
        allowed_share_of_proof: None,
        cycled_strain_percent: None,
        allowed_cycled_percent: None,
    };
    let core = LifeLayer {
        name: "glass core".to_owned(),
        rule: "Weibull".to_owned(),
        blocks: Vec::new(),
        damage: None,
        stress_mpa: Some(143.0),
        stressed_length_um: Some(820.0),
        survival_percent: Some(99.968),
        allowed_stress_mpa: Some(182.0),
        share_of_proof: Some(0.31),
        allowed_share_of_proof: Some(0.28),
        ..metal.clone()
    };
    let film = LifeLayer {
        name: "carrier film of polyimide".to_owned(),
        rule: "half the yield strain".to_owned(),
        blocks: Vec::new(),
        damage: None,
        cycled_strain_percent: Some(0.41),
        allowed_cycled_percent: Some(1.2),
        ..metal.clone()
    };
    LifeResult {
        layers: vec![metal, core, film],
        survival_percent: Some(99.968),
        damage: Some(1.2),
        repeats: Some([0.42, 1.68, 6.0]),
        cycles_asked: 5e5,
        hours: 278.0,
        model: "strain-life with mean stress; Weibull on the stressed edge".to_owned(),
        validity: Vec::new(),
    }
}

/// An island that hardly gives.
pub(super) fn islands() -> IslandResult {
    let half = 0.5 * Islands::default().length_um;
    let end = 0.5 * Islands::default().pitch_um;
    let profile = (0..=60)
        .map(|i| {
            let x = end * f64::from(i) / 60.0;
            let near = (-(x - half).abs() / 300.0).exp();
            IslandPoint {
                x_um: x,
                island_percent: (x <= half).then_some(0.11 * (1.0 - near)),
                sheet_percent: if x <= half { 0.2 + 6.0 * near } else { 13.5 - 5.0 * near },
            }
        })
        .collect();
    IslandResult {
        amplification: 1.42,
        amplification_rigid: 1.5,
        ribbon_stretch_percent: 14.2,
        sheet_stretch_allowed_percent: 24.6,
        island_strain_percent: 0.11,
        bowing_strain_percent: 0.34,
        transfer_length_um: 310.0,
        edge_concentration: Some([1.2, 1.9]),
        root_um: 60.0,
        edge_shear_mpa: 0.42,
        peel_bound_j_per_m2: 3.1,
        drift_nm: Some(1.31),
        strain_for_drift_percent: Some(0.08),
        needed_thickness_um: Some(63.0),
        needed_modulus_mpa: None,
        profile,
        model: "shear lag between island and sheet".to_owned(),
        validity: vec!["the sheet's stretch is beyond small strain".to_owned()],
    }
}

/// A trace of copper that warms a little.
pub(super) fn trace() -> TraceResult {
    TraceResult {
        layer: "supply trace".to_owned(),
        width_um: 24.0,
        thickness_um: 1.5,
        film_factor: 1.06,
        sheet_resistance_ohm: 0.0121,
        squares: 412.0,
        rest_ohm: 4.98,
        stretched_ohm: 5.21,
        mean_strain_percent: 0.03,
        change_percent: 0.07,
        voltage_drop_mv: 104.0,
        power_mw: 0.52,
        temperature_rise_k: Some(3.6),
        rated_ma: 16.6,
        board_fit_ma: Some(24.0),
        density_a_per_mm2: 278.0,
        model: "squares along the deformed ribbon; heat to the surroundings".to_owned(),
        validity: Vec::new(),
    }
}
