//! The films and steps of a design's process as the stack crate takes them, and the residual strain that they leave.

use crate::document::{Design, Process, StackLayer, StepName};
use crate::fault::Fault;
use ogee_stack::{Birth, Film, FilmModulus, FilmState, History, ProcessError, State, Step, run};

/// A part that curls to more than this, a radius of one metre, counts as flat, 1/µm.
const FLAT_PER_UM: f64 = 1e-6;

/// A process that has been followed from the bare handle to the finished part.
#[derive(Clone, Debug)]
pub(crate) struct Oven {
    pub(crate) history: History,
    /// What each film is a piece of; the handle comes first.
    pub(crate) pieces: Vec<Piece>,
    /// Number of the history's state after each step of the document.
    pub(crate) after: Vec<usize>,
    pub(crate) released: bool,
    pub(crate) service_c: [f64; 2],
}

/// What a film is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Piece {
    Handle,
    /// The layer of that number.
    Layer(usize),
    /// What fills the sides of the row of that number.
    Beside(usize),
}

impl Oven {
    /// Follows the process of a design whose names have been checked; `None` without one.
    pub(crate) fn of(design: &Design) -> Result<Option<Self>, Fault> {
        let Some(process) = &design.process else { return Ok(None) };
        let (films, pieces) = films(design, process);
        let (steps, after) = steps(design, process, &pieces);
        let history = run(&films, FilmModulus::Biaxial, &steps).map_err(|e| fault(&e, &after, &pieces))?;
        let released = process.steps.iter().any(|s| s.step == StepName::Release);
        let service_c = [process.service_low_c, process.service_high_c];
        Ok(Some(Self { history, pieces, after, released, service_c }))
    }

    fn last(&self) -> usize {
        self.history.states.len() - 1
    }

    /// The finished part at a temperature, free to curl where it has been released.
    pub(crate) fn free(&self, temperature_c: f64) -> Result<State, ProcessError> {
        self.history.state_at(self.last(), temperature_c)
    }

    /// The finished part at a temperature, held flat where it has been released.
    pub(crate) fn flat(&self, temperature_c: f64) -> Result<State, ProcessError> {
        if self.released {
            self.history.wrapped(self.last(), temperature_c, 0.0)
        } else {
            self.free(temperature_c)
        }
    }

    /// Number of the finished part's state in the history.
    pub(crate) fn finished(&self) -> usize {
        self.last()
    }

    /// The temperature of use nearest to 20 °C.
    pub(crate) fn room_c(&self) -> f64 {
        20f64.clamp(self.service_c[0], self.service_c[1])
    }

    /// Curvature of the released part left to itself, 1/µm; 0 on its handle.
    pub(crate) fn curl_per_um(&self) -> f64 {
        if !self.released {
            return 0.0;
        }
        let curl = self.free(self.room_c()).map_or(0.0, |state| state.curvature_per_um);
        if curl.abs() < FLAT_PER_UM { 0.0 } else { curl }
    }

    /// Greatest and least elastic strain that the process leaves in a piece over the temperatures of use, held flat or
    /// free to curl, dimensionless.
    pub(crate) fn residual(&self, piece: Piece, is_free: bool) -> [f64; 2] {
        let Some(film) = self.pieces.iter().position(|p| *p == piece) else { return [0.0; 2] };
        let states = self.service_c.iter().map(|&t| if is_free { self.free(t) } else { self.flat(t) });
        let mut range: Option<[f64; 2]> = None;
        for state in states.flatten() {
            let Some(FilmState { strain_bottom, strain_top, .. }) = state.film(film) else { continue };
            let (high, low) = (strain_bottom.max(*strain_top), strain_bottom.min(*strain_top));
            range = Some(range.map_or([high, low], |[h, l]| [h.max(high), l.min(low)]));
        }
        range.unwrap_or([0.0; 2])
    }
}

/// Width of a layer over that of the ribbon.
fn share(design: &Design, layer: &StackLayer) -> f64 {
    layer.width_um.map_or(1.0, |w| (w / design.shape.width_um).min(1.0))
}

/// The handle below the layers that are made on it, then every layer and what fills the sides of narrow ones.
fn films(design: &Design, process: &Process) -> (Vec<Film>, Vec<Piece>) {
    let layers = &design.stack.layers;
    let film = |layer: &StackLayer, bottom_um: f64, top_um: f64, share: f64| Film {
        name: layer.name.clone(),
        bottom_um,
        top_um,
        share,
        modulus_mpa: layer.modulus_mpa,
        poisson: layer.poisson_ratio,
        cte_per_k: 1e-6 * layer.cte_ppm_per_k.unwrap_or(0.0),
    };
    let mut films = Vec::new();
    let mut pieces = Vec::new();
    let mut bottoms = Vec::new();
    let mut bottom_um = 0.0;
    for (i, layer) in layers.iter().enumerate() {
        let top_um = bottom_um + layer.thickness_um;
        let share = share(design, layer);
        films.push(film(layer, bottom_um, top_um, share));
        pieces.push(Piece::Layer(i));
        let filler = layer.sides.as_ref().and_then(|s| layers.iter().find(|l| l.name == *s));
        if let Some(filler) = filler
            && share < 1.0
        {
            films.push(film(filler, bottom_um, top_um, 1.0 - share));
            pieces.push(Piece::Beside(i));
        }
        bottoms.push(bottom_um);
        bottom_um = top_um;
    }
    // A carrier that is bonded on after the release was never between the handle and the rest.
    let on_handle = process.steps.iter().take_while(|s| s.step != StepName::Release);
    let lowest = on_handle
        .filter_map(|s| layers.iter().position(|l| Some(&l.name) == s.layer.as_ref()))
        .min()
        .and_then(|i| bottoms.get(i))
        .copied()
        .unwrap_or(0.0);
    let handle = &process.handle;
    films.insert(
        0,
        Film {
            name: "handle".to_owned(),
            bottom_um: lowest - handle.thickness_um,
            top_um: lowest,
            share: 1.0,
            modulus_mpa: handle.modulus_mpa,
            poisson: handle.poisson_ratio,
            cte_per_k: 1e-6 * handle.cte_ppm_per_k,
        },
    );
    pieces.insert(0, Piece::Handle);
    (films, pieces)
}

fn steps(design: &Design, process: &Process, pieces: &[Piece]) -> (Vec<Step>, Vec<usize>) {
    let layers = &design.stack.layers;
    let start_c = process.steps.first().map_or(20.0, |s| s.temperature_c);
    let handle = vec![Birth { film: 0, intrinsic_mpa: 0.0 }];
    let mut steps = vec![Step::Deposit { films: handle, temperature_c: start_c }];
    let mut after = Vec::new();
    for step in &process.steps {
        let temperature_c = step.temperature_c;
        match step.step {
            StepName::Deposit | StepName::Bond => {
                let brought = layers.iter().position(|l| Some(&l.name) == step.layer.as_ref());
                let fills = |row: usize| layers[row].sides.is_some() && layers[row].sides == step.layer;
                let films: Vec<Birth> = pieces
                    .iter()
                    .enumerate()
                    .filter(|(_, piece)| match piece {
                        Piece::Handle => false,
                        Piece::Layer(i) => Some(*i) == brought,
                        Piece::Beside(row) => fills(*row),
                    })
                    .map(|(film, _)| Birth { film, intrinsic_mpa: step.intrinsic_stress_mpa })
                    .collect();
                steps.push(if step.step == StepName::Bond {
                    Step::Bond { films, temperature_c }
                } else {
                    Step::Deposit { films, temperature_c }
                });
            }
            StepName::Hold => steps.push(Step::Bring { temperature_c }),
            StepName::Release => {
                steps.push(Step::Bring { temperature_c });
                steps.push(Step::Remove { films: vec![0] });
            }
        }
        after.push(steps.len() - 1);
    }
    (steps, after)
}

/// An error of the stack crate as a fault of the step or the layer that it names.
fn fault(error: &ProcessError, after: &[usize], pieces: &[Piece]) -> Fault {
    let mut message = error.to_string();
    let path = match (error.step(), error.film()) {
        (Some(step), _) => {
            let number = after.iter().position(|a| *a >= step).unwrap_or(0);
            // The handle and the two halves of a release are steps of their own there.
            message = message.replacen(&format!("step {}", step + 1), &format!("step {}", number + 1), 1);
            format!("process.steps[{number}].step")
        }
        (None, Some(film)) => match pieces.get(film) {
            Some(Piece::Layer(i) | Piece::Beside(i)) => format!("stack.layers[{i}].cte_ppm_per_k"),
            _ => "process.handle".to_owned(),
        },
        (None, None) => "process.steps".to_owned(),
    };
    Fault::new(path, "", message)
}
