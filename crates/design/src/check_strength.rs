//! What wrap, oven, life, islands and trace ask of a design: names that lead somewhere, steps that make sense.

use crate::document::{Design, Process, ProcessStep, StackLayer, StepName};
use crate::fault::Fault;
use crate::library::{find_material, material_faults};
use crate::text::number;

impl Design {
    /// Faults of everything beyond shape, section, support and light.
    pub(crate) fn strength_faults(&self, faults: &mut Vec<Fault>) {
        faults.extend(material_faults(&self.materials));
        for (i, layer) in self.stack.layers.iter().enumerate() {
            layer_faults(i, layer, faults);
            if let Some(id) = &layer.material_id
                && find_material(id, &self.materials).is_none()
            {
                let path = format!("stack.layers[{i}].material_id");
                faults.push(Fault::new(
                    path,
                    id,
                    "neither the library nor `materials` has a material of this id",
                ));
            }
        }
        self.trace_faults(faults);
        if let Some(process) = &self.process {
            self.process_faults(process, faults);
        }
        self.life_faults(faults);
        self.island_faults(faults);
    }

    fn known_layers(&self) -> String {
        let names: Vec<String> = self.stack.layers.iter().map(|l| format!("`{}`", l.name)).collect();
        names.join(", ")
    }

    fn trace_faults(&self, faults: &mut Vec<Fault>) {
        let Some(trace) = &self.trace else { return };
        match self.stack.layers.iter().position(|l| l.name == trace.layer) {
            None => {
                let message = format!("no layer has this name; there are {}", self.known_layers());
                faults.push(Fault::new("trace.layer", &trace.layer, message));
            }
            Some(_) if self.light.as_ref().is_some_and(|light| light.core == trace.layer) => {
                let message =
                    "this layer is the core of the light guide; a current needs a metal layer of its own";
                faults.push(Fault::new("trace.layer", &trace.layer, message));
            }
            Some(_) => {}
        }
        pair(
            ("trace.sheet_thickness_um", trace.sheet_thickness_um),
            ("trace.sheet_conductivity_w_per_m_k", trace.sheet_conductivity_w_per_m_k),
            faults,
        );
    }

    fn process_faults(&self, process: &Process, faults: &mut Vec<Fault>) {
        for (i, layer) in self.stack.layers.iter().enumerate() {
            if layer.cte_ppm_per_k.is_none() {
                let path = format!("stack.layers[{i}].cte_ppm_per_k");
                faults.push(Fault::new(
                    path,
                    "",
                    "the thermal expansion is needed, because the design has a process",
                ));
            }
            let brings =
                |s: &&ProcessStep| s.step.brings_a_layer() && s.layer.as_deref() == Some(&layer.name);
            let births = process.steps.iter().filter(brings).count();
            if births != 1 {
                let value = if births == 0 { String::new() } else { format!("{births} steps") };
                let message = format!("layer `{}` must be deposited or bonded in one step", layer.name);
                faults.push(Fault::new("process.steps", value, message));
            }
        }
        if process.service_low_c > process.service_high_c {
            let message = format!(
                "the coldest use must not be above the warmest of {} °C",
                number(process.service_high_c)
            );
            let fault = Fault::new("process.service_low_c", number(process.service_low_c), message);
            faults.push(fault.with_nearest(Some(process.service_high_c)));
        }
        let mut present: Vec<usize> = Vec::new();
        let mut released = false;
        for (i, step) in process.steps.iter().enumerate() {
            let path = |key: &str| format!("process.steps[{i}].{key}");
            match (step.step.brings_a_layer(), &step.layer) {
                (true, None) => {
                    faults.push(Fault::new(path("layer"), "", "name the layer that this step brings"));
                }
                (false, Some(layer)) => {
                    let message = format!("a step “{}” brings no layer", step.step.label());
                    faults.push(Fault::new(path("layer"), layer, message));
                }
                (true, Some(name)) => match self.stack.layers.iter().position(|l| l.name == *name) {
                    None => {
                        let message = format!("no layer has this name; there are {}", self.known_layers());
                        faults.push(Fault::new(path("layer"), name, message));
                    }
                    Some(layer) => {
                        if let Some(message) = misplaced(layer, &present, released) {
                            faults.push(Fault::new(path("layer"), name, message));
                        }
                        present.push(layer);
                    }
                },
                (false, None) if step.step == StepName::Release => {
                    if released {
                        faults.push(Fault::new(
                            path("step"),
                            "release",
                            "the ribbon has been released before",
                        ));
                    } else if present.is_empty() {
                        faults.push(Fault::new(
                            path("step"),
                            "release",
                            "there is no layer on the handle to release",
                        ));
                    }
                    released = true;
                }
                (false, None) => {}
            }
            if !step.step.brings_a_layer() && step.intrinsic_stress_mpa != 0.0 {
                let value = number(step.intrinsic_stress_mpa);
                let fault = Fault::new(
                    path("intrinsic_stress_mpa"),
                    value,
                    "only a step that brings a layer has a stress",
                );
                faults.push(fault.with_nearest(Some(0.0)));
            }
        }
    }

    fn life_faults(&self, faults: &mut Vec<Fault>) {
        let Some(life) = &self.life else { return };
        if life.cycles.is_empty() {
            faults.push(Fault::new("life.cycles", "0 blocks", "a life needs at least one block of cycles"));
        }
        for (i, block) in life.cycles.iter().enumerate() {
            if block.wrapped && self.duty.wrap.is_none() {
                let path = format!("life.cycles[{i}].wrapped");
                faults.push(Fault::new(path, "true", "a wrapped cycle needs the cylinder of `duty.wrap`"));
            }
            if block.from_percent == block.to_percent && !block.wrapped {
                let path = format!("life.cycles[{i}].to_percent");
                let message = "a cycle needs two different stretches, or a wrap";
                faults.push(Fault::new(path, number(block.to_percent), message));
            }
        }
    }

    fn island_faults(&self, faults: &mut Vec<Fault>) {
        let Some(islands) = &self.islands else { return };
        if islands.length_um >= islands.pitch_um {
            let message = format!(
                "an island must be shorter than the distance from middle to middle of {} µm",
                number(islands.pitch_um)
            );
            let fault = Fault::new("islands.length_um", number(islands.length_um), message);
            faults.push(fault.with_nearest(Some(0.9 * islands.pitch_um)));
        }
        pair(
            ("islands.adhesive_thickness_um", islands.adhesive_thickness_um),
            ("islands.adhesive_shear_modulus_mpa", islands.adhesive_shear_modulus_mpa),
            faults,
        );
    }
}

fn layer_faults(i: usize, layer: &StackLayer, faults: &mut Vec<Fault>) {
    if layer.strain_life.is_some() && layer.foil.is_some() {
        let path = format!("stack.layers[{i}].foil");
        faults.push(Fault::new(path, "", "a layer's cycles follow strain-life or foil ductility, not both"));
    }
    if let Some(brittle) = &layer.brittle {
        let path = |key: &str| format!("stack.layers[{i}].brittle.{key}");
        pair(
            (&path("static_fatigue_n"), brittle.static_fatigue_n),
            (&path("proof_stress_mpa"), brittle.proof_stress_mpa),
            faults,
        );
    }
}

/// Two fields of which neither makes sense without the other.
fn pair(a: (&str, Option<f64>), b: (&str, Option<f64>), faults: &mut Vec<Fault>) {
    for ((path, missing), (other, given)) in [(a, b), (b, a)] {
        if missing.is_none() && given.is_some() {
            faults.push(Fault::new(path, "", format!("this field is needed with `{other}`")));
        }
    }
}

/// Why a layer cannot be brought now.
fn misplaced(layer: usize, present: &[usize], released: bool) -> Option<&'static str> {
    let (lowest, highest) = (present.iter().min()?, present.iter().max()?);
    if layer == highest + 1 || present.contains(&layer) {
        return None;
    }
    if layer + 1 == *lowest {
        return (!released)
            .then_some("a layer cannot come between the handle and the layers on it; release them first");
    }
    Some("the layer would touch none of those present; bring the one between them first")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{Islands, Life, Trace, WrapDuty};

    fn faults(change: impl FnOnce(&mut Design)) -> Vec<Fault> {
        let mut design = Design::sample();
        for layer in &mut design.stack.layers {
            layer.cte_ppm_per_k = Some(80.0);
        }
        change(&mut design);
        design.check().expect_err("the design is impossible")
    }

    fn with_process(change: impl FnOnce(&mut Process)) -> Vec<Fault> {
        faults(|d| {
            let names = d.stack.layers.iter().map(|l| l.name.as_str());
            let mut process = Process::plain(names, 150.0);
            change(&mut process);
            d.process = Some(process);
        })
    }

    fn names(faults: &[Fault], path: &str) -> bool {
        faults.iter().any(|f| f.path == path)
    }

    #[test]
    fn contradictory_steps_are_named() {
        assert!(names(&with_process(|p| p.steps.swap(0, 2)), "process.steps[1].layer"));
        assert!(names(&with_process(|p| p.steps[1].layer = None), "process.steps[1].layer"));
        let twice = with_process(|p| {
            let again = p.steps[0].clone();
            p.steps.push(again);
        });
        assert!(names(&twice, "process.steps"));
        let released = with_process(|p| p.steps[3].step = StepName::Release);
        assert!(names(&released, "process.steps[4].step"));
        assert!(names(&with_process(|p| p.steps[4].layer = Some("core".into())), "process.steps[4].layer"));
        assert!(names(
            &with_process(|p| p.steps[3].temperature_c = -300.0),
            "process.steps[3].temperature_c"
        ));
        assert!(names(&with_process(|p| p.service_low_c = 90.0), "process.service_low_c"));
        let cold = faults(|d| {
            d.stack.layers[1].cte_ppm_per_k = None;
            d.process = Some(Process::plain(d.stack.layers.iter().map(|l| l.name.as_str()), 150.0));
        });
        assert!(names(&cold, "stack.layers[1].cte_ppm_per_k"));
    }

    #[test]
    fn current_needs_a_metal_layer() {
        assert!(names(&faults(|d| d.trace = Some(Trace::copper("wire"))), "trace.layer"));
        assert!(names(&faults(|d| d.trace = Some(Trace::copper("core"))), "trace.layer"));
        let nothing = faults(|d| {
            d.trace = Some(Trace { resistivity_nohm_m: 0.0, ..Trace::copper("upper cladding") });
        });
        assert!(names(&nothing, "trace.resistivity_nohm_m"));
    }

    #[test]
    fn lives_and_islands_are_judged() {
        let empty = faults(|d| d.life = Some(Life { cycles: Vec::new(), ..Life::to_target(35.0) }));
        assert!(names(&empty, "life.cycles"));
        let none = faults(|d| {
            let mut life = Life::to_target(35.0);
            life.cycles[0].count = 0.0;
            life.cycles[0].wrapped = true;
            (d.life, d.duty.wrap) = (Some(life), None);
        });
        assert!(names(&none, "life.cycles[0].count"));
        assert!(names(&none, "life.cycles[0].wrapped"));
        let long = faults(|d| d.islands = Some(Islands { length_um: 1e4, ..Islands::default() }));
        assert!(names(&long, "islands.length_um"));
        let tight = faults(|d| d.duty.wrap = Some(WrapDuty { radius_um: -3.0, ..WrapDuty::default() }));
        assert!(names(&tight, "duty.wrap.radius_um"));
    }
}
