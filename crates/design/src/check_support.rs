//! What can be wrong with how the ribbon is held.

use crate::document::{Design, SupportName};
use crate::fault::Fault;
use crate::text::number;

impl Design {
    pub(crate) fn support_faults(&self, faults: &mut Vec<Fault>) {
        let support = &self.support;
        if support.kind == SupportName::Bonded && support.elastomer.is_none() {
            let message = "a bonded ribbon needs an elastomer: its modulus, Poisson's ratio and thickness";
            faults.push(Fault::new("support.elastomer", "", message));
        }
        let thickness_um: f64 = self.stack.layers.iter().map(|l| l.thickness_um).sum();
        if let Some(radius) = support.curl_radius_um
            && radius.abs() < 2.0 * thickness_um
        {
            let message = format!(
                "a ribbon of {} µm thickness cannot curl that tightly; beyond ±{} µm is possible, and a flat one \
                 leaves the field out",
                number(thickness_um),
                number(2.0 * thickness_um)
            );
            let nearest = Some((2.0 * thickness_um).copysign(radius));
            faults.push(Fault::new("support.curl_radius_um", number(radius), message).with_nearest(nearest));
        }
        let room_um = self.limits.span_um.max(self.shape.pitch_um * f64::from(self.shape.periods));
        if support.sideways_um.abs() > room_um {
            let message = format!(
                "the far island sits beside its place by more than the ribbon is long; at most ±{} µm is possible",
                number(room_um)
            );
            let nearest = Some(room_um.copysign(support.sideways_um));
            let value = number(support.sideways_um);
            faults.push(Fault::new("support.sideways_um", value, message).with_nearest(nearest));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(change: impl FnOnce(&mut Design)) -> Fault {
        let mut design = Design::sample();
        change(&mut design);
        design.check().expect_err("the support is impossible").remove(0)
    }

    #[test]
    fn an_impossible_support_is_named_with_the_nearest_possible_one() {
        let missing = fault(|d| d.support.kind = SupportName::Bonded);
        assert_eq!(missing.path, "support.elastomer");
        let tight = fault(|d| d.support.curl_radius_um = Some(-3.0));
        assert_eq!((tight.path.as_str(), tight.nearest), ("support.curl_radius_um", Some(-25.9)));
        let aside = fault(|d| d.support.sideways_um = 1e5);
        assert_eq!((aside.path.as_str(), aside.nearest), ("support.sideways_um", Some(6800.0)));
    }
}
