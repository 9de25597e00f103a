//! Prints how the solvers converge with the mesh, against the finest one: `cargo run --release -p ogee-mechanics --example
//! convergence`.

#![allow(clippy::print_stdout, reason = "the tables are what this example is for")]

use ogee_geometry::{Centreline, Ends, Family, Quarter};
use ogee_mechanics::{
    BondedProblem, BondedSolver, EndMotion, Mesh, OnsetProblem, OutOfPlane, RibbonProblem, RibbonSolver,
    SpatialProblem, SpatialSolver, Strips, onset,
};
use std::error::Error;

/// Elements per quarter.
const COUNTS: [usize; 5] = [2, 4, 8, 16, 32];

fn main() -> Result<(), Box<dyn Error>> {
    let quarter = Quarter::new(Family::SineGenerated, 100.0, 40.0)?;
    let strips = Strips::new(&[(2500.0 * 0.5, 5.0)])?;
    let line = Centreline::new(quarter.clone(), 2, Ends::Crossing, 0.0, None)?;
    println!(
        "relative error against 32 elements a quarter; sine-generated, A/P 0.4, w/P 0.05, w/t 10, 30 % stretch"
    );
    println!(
        "{:>9}  {:>12}  {:>12}  {:>14}  {:>12}",
        "elements", "ribbon peak", "bonded peak", "buckled energy", "buckled peak"
    );
    let mut rows = Vec::new();
    let out = OutOfPlane::homogeneous(5.0, 0.5, 2500.0, 0.34)?;
    let up_to = EndMotion::stretch(0.3);
    let start = OnsetProblem { line: &line, strips: &strips, out: &out, foundation_mpa: 0.0, up_to };
    let start = onset(&mut RibbonSolver::new(), &start)?.ok_or("the ribbon buckles before 30 %")?;
    for count in COUNTS {
        let problem = RibbonProblem { line: &line, strips: &strips, motion: up_to };
        let flat = RibbonSolver::with_mesh(Mesh::Fixed { elements: count }).solve(&problem, None)?;
        let bonded = BondedProblem {
            quarter: &quarter,
            strips: &strips,
            foundation_mpa: 3e3 * strips.ei_un_um2() / 1e8,
            substrate_poisson: 0.49,
            stretch: 0.3,
        };
        let bonded = BondedSolver::with_mesh(Mesh::Fixed { elements: count }).solve(&bonded, None)?;
        let space =
            SpatialProblem { line: &line, strips: &strips, out: &out, motion: up_to, curl_per_um: 0.0 };
        let branch = SpatialSolver::with_elements_per_quarter(count).buckled(&space, &start, &|| true)?;
        let buckled = branch.ok_or("nobody stopped it")?.solution;
        rows.push([
            flat.peak_tensile.strain,
            bonded.peak_tensile.strain,
            buckled.energy_un_um,
            buckled.peak_tensile.strain,
        ]);
    }
    let finest = *rows.last().ok_or("there are meshes")?;
    for (count, row) in COUNTS.iter().zip(&rows).take(COUNTS.len() - 1) {
        let error = |i: usize| (row[i] / finest[i] - 1.0).abs();
        println!(
            "{count:>9}  {:>12.1e}  {:>12.1e}  {:>14.1e}  {:>12.1e}",
            error(0),
            error(1),
            error(2),
            error(3)
        );
    }
    Ok(())
}
