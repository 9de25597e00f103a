//! Many states along one path on one mesh.

use super::{
    RibbonError, RibbonProblem,
    solver::{MOST_PER_QUARTER, Reached, RibbonSolver, Solved},
};

impl RibbonSolver {
    /// Lays out a mesh with no element longer than `longest` (over P) for states along a path, none solved yet.
    pub(crate) fn begin_path(
        &mut self,
        problem: &RibbonProblem<'_>,
        longest: f64,
    ) -> Result<(), RibbonError> {
        problem.check()?;
        self.mesh.take_segments(problem);
        self.mesh.begin(problem);
        let unit_um = problem.line.quarter().pitch_um();
        let limit = MOST_PER_QUARTER * self.mesh.segments.len();
        loop {
            self.spare_spans.clear();
            for span in &self.mesh.spans {
                let segment = &self.mesh.segments[span.segment as usize];
                let length = (segment.s_um(span.to) - segment.s_um(span.from)) / unit_um;
                if length > longest * (1.0 + 1e-6) {
                    self.spare_spans.extend(span.halves());
                } else {
                    self.spare_spans.push(*span);
                }
            }
            let is_done = self.spare_spans.len() == self.mesh.spans.len();
            if self.spare_spans.len() > limit {
                let elements = self.spare_spans.len();
                return Err(RibbonError::NotAccurate {
                    error_estimate: f64::INFINITY,
                    tolerance: longest,
                    elements,
                });
            }
            std::mem::swap(&mut self.mesh.spans, &mut self.spare_spans);
            if is_done {
                break;
            }
        }
        self.mesh.lay_out(problem);
        self.newton.clear(self.mesh.elements());
        Ok(())
    }

    /// Rest curvatures κ₀ P at the nodes of the mesh laid out.
    pub(crate) fn rest_curvatures(&self) -> impl Iterator<Item = f64> + '_ {
        self.mesh.rest.iter().map(|rest| rest.kappa)
    }

    /// Solves on the mesh laid out, from the state held if `is_given`.
    pub(crate) fn solve_on_path(
        &mut self,
        problem: &RibbonProblem<'_>,
        is_given: bool,
    ) -> Result<Solved, RibbonError> {
        let mut solved = self.settle(problem, is_given, Reached::Directly)?;
        solved.error_estimate = self.fields.fill(&self.mesh, &self.newton);
        Ok(solved)
    }
}
