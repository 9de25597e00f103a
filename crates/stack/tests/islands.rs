//! Rows of stiff islands: limits, notes and refusals.

use ogee_stack::{Adhesive, IslandError, IslandField, IslandNote, IslandRow, Plate, Solved};

const ELASTOMER: Plate = Plate { thickness_um: 500.0, modulus_mpa: 1.8, poisson: 0.49 };
const POLYIMIDE: Plate = Plate { thickness_um: 50.0, modulus_mpa: 2500.0, poisson: 0.34 };

fn row(length_um: f64, pitch_um: f64) -> IslandRow {
    IslandRow::new(ELASTOMER, POLYIMIDE, None, length_um, pitch_um).expect("a sound row")
}

#[test]
fn long_stiff_islands_are_rigid() {
    let glass = Plate { thickness_um: 500.0, modulus_mpa: 72_000.0, poisson: 0.2 };
    let pulled = IslandRow::new(ELASTOMER, glass, None, 1e6, 2e6).unwrap().stretched(0.01).unwrap();
    assert!((pulled.amplification / pulled.amplification_rigid - 1.0).abs() < 1e-3);
    assert!(pulled.island_centre_strain < 1e-5);
}

#[test]
fn an_island_of_the_sheets_own_kind_doubles_the_stiffness() {
    // Long against the transfer length: half the strain where the thickness is double.
    let row = IslandRow::new(ELASTOMER, ELASTOMER, None, 1e6, 2e6).unwrap();
    let pulled = row.stretched(0.01).unwrap();
    assert!((pulled.island_centre_strain / pulled.interconnect_strain - 0.5).abs() < 1e-12);
    assert!((pulled.sheet_centre_strain / pulled.interconnect_strain - 0.5).abs() < 1e-12);
    assert!((pulled.amplification - 4.0 / 3.0).abs() < 1e-3);
}

#[test]
fn a_soft_adhesive_lets_the_sheet_go() {
    let adhesive = Some(Adhesive { thickness_um: 100.0, shear_modulus_mpa: 1e-6 });
    let pulled =
        IslandRow::new(ELASTOMER, POLYIMIDE, adhesive, 3000.0, 6000.0).unwrap().stretched(0.01).unwrap();
    assert!(pulled.amplification - 1.0 < 1e-5 && pulled.island_centre_strain < 1e-6);
}

#[test]
fn strains_and_shear_along_the_row_are_symmetric_and_periodic() {
    let row = row(3000.0, 6000.0);
    let at = |x: f64| row.strain_along(0.01, x).unwrap();
    for x in [0.0, 400.0, 1499.0, 1501.0, 2999.0] {
        let (left, right, next) = (at(-x), at(x), at(x + 12_000.0));
        assert_eq!((left.island, left.sheet), (right.island, right.sheet));
        assert!((left.shear_stress_mpa + right.shear_stress_mpa).abs() < 1e-15);
        assert!((next.sheet / right.sheet - 1.0).abs() < 1e-9);
    }
    assert!(at(1499.0).shear_stress_mpa > at(400.0).shear_stress_mpa);
    assert_eq!(at(0.0).shear_stress_mpa, 0.0);
    assert!(at(1500.0).island.unwrap() < 1e-12 && at(1501.0).island.is_none());
}

#[test]
fn balance_of_force_holds_all_along_the_island() {
    let row = row(3000.0, 6000.0);
    let stiffness = |p: Plate| p.modulus_mpa / (1.0 - p.poisson * p.poisson) * p.thickness_um;
    let far = stiffness(ELASTOMER) * row.stretched(0.01).unwrap().interconnect_strain;
    for x in [0.0, 700.0, 1400.0, 1500.0] {
        let here = row.strain_along(0.01, x).unwrap();
        let force = stiffness(POLYIMIDE) * here.island.unwrap() + stiffness(ELASTOMER) * here.sheet;
        assert!((force / far - 1.0).abs() < 1e-12, "{x}");
    }
}

#[test]
fn notes_tell_where_the_model_stops() {
    let notes = |row: IslandRow, stretch: f64| row.stretched(stretch).unwrap().notes;
    let plain = notes(row(3000.0, 6000.0), 0.01);
    assert!(matches!(plain[..], [IslandNote::FreeToBow { .. }]));
    let large = notes(row(3000.0, 6000.0), 0.2);
    assert!(matches!(large[..], [IslandNote::FreeToBow { .. }, IslandNote::LargeStrain { .. }]));
    let short = notes(row(1499.0, 6000.0), -0.01);
    assert!(matches!(
        short[..],
        [IslandNote::ShortIsland { .. }, IslandNote::FreeToBow { .. }, IslandNote::Compressed]
    ));
    let thick = Plate { thickness_um: 500.0, ..POLYIMIDE };
    let thick = IslandRow::new(ELASTOMER, thick, None, 3000.0, 6000.0).unwrap();
    assert!(notes(thick, 0.01).iter().any(|n| matches!(n, IslandNote::NearlyIncompressible { .. })));
    assert!(notes(row(3000.0, 6000.0), 0.0).is_empty());
    for note in notes(thick, 0.2) {
        assert!(!note.to_string().contains("NaN"), "{note}");
    }
}

#[test]
fn a_short_island_never_strains_more_than_a_long_one() {
    // Hardly stiffer than the sheet: the half-space alone would give more than the sheet has.
    let soft = Plate { thickness_um: 1.0, modulus_mpa: 2.0, poisson: 0.49 };
    let pulled = IslandRow::new(ELASTOMER, soft, None, 800.0, 6000.0).unwrap().stretched(0.01).unwrap();
    assert!(pulled.halfspace_island_strain > pulled.interconnect_strain);
    assert!(pulled.island_centre_strain <= pulled.interconnect_strain);
}

#[test]
fn what_cannot_be_is_said() {
    let row = row(3000.0, 6000.0);
    assert_eq!(row.pitch_for_interconnect_strain(0.02, 0.01).unwrap(), Solved::Never { least_strain: 0.02 });
    assert_eq!(row.pitch_for_interconnect_strain(0.01, 10.0).unwrap(), Solved::Always);
    assert!(matches!(row.length_for_interconnect_strain(0.02, 0.01).unwrap(), Solved::Never { .. }));
    assert_eq!(row.length_for_strain(0.01, 1.0).unwrap(), Solved::Always);
    assert_eq!(row.thickness_for_strain(0.01, 1.0).unwrap(), Solved::Always);
    assert!(matches!(row.thickness_for_strain(0.01, 1e-9).unwrap(), Solved::Never { .. }));
    assert!(row.thickness_for_strain(0.0, 0.01).is_err() && row.length_for_strain(0.01, f64::NAN).is_err());
}

#[test]
fn refuses_what_is_no_row() {
    let error = IslandRow::new(ELASTOMER, POLYIMIDE, None, 6000.0, 6000.0).unwrap_err();
    assert_eq!(
        error.to_string(),
        "island length of 6000 µm leaves no gap at a pitch of 6000 µm; it must be below the pitch"
    );
    let thin = Plate { thickness_um: 0.0, ..ELASTOMER };
    assert_eq!(
        IslandRow::new(thin, POLYIMIDE, None, 1.0, 2.0).unwrap_err(),
        IslandError::NotPositive { field: IslandField::SheetThickness, value: 0.0 }
    );
    let odd = Plate { poisson: 0.5, ..POLYIMIDE };
    assert!(matches!(
        IslandRow::new(ELASTOMER, odd, None, 1.0, 2.0),
        Err(IslandError::Outside { field: IslandField::IslandPoisson, .. })
    ));
    let none = Adhesive { thickness_um: 1.0, shear_modulus_mpa: -1.0 };
    assert!(IslandRow::new(ELASTOMER, POLYIMIDE, Some(none), 1.0, 2.0).is_err());
    let huge = Plate { modulus_mpa: 1e308, thickness_um: 1e308, poisson: 0.3 };
    assert!(matches!(IslandRow::new(ELASTOMER, huge, None, 1.0, 2.0), Err(IslandError::OutOfNumbers { .. })));
    let row = row(3000.0, 6000.0);
    for stretch in [f64::NAN, f64::INFINITY, -1.0] {
        assert!(row.stretched(stretch).is_err() && row.strain_along(stretch, 0.0).is_err());
    }
    assert!(row.strain_along(0.01, f64::NAN).is_err() && row.stretched(1e200).is_err());
}
