//! A handle in the hand: from the press to the release, one edit.

use super::handles::{Frame, Kind};
use super::settle::{Pull, Settled, settle};
use super::sheet::Sheet;
use crate::session::{Command, Edit};
use egui::Pos2;

/// How near, in points, a limit catches a handle.
const REACH_POINTS: f64 = 5.0;

/// A drag that goes on.
#[derive(Debug)]
pub(super) struct Gesture {
    kind: Kind,
    /// The ribbon when the drag began; the edit is made on it.
    frame: Frame,
    /// Where the handle sat then, µm.
    from_um: [f64; 2],
    /// From the pointer to the handle, µm.
    grab_um: [f64; 2],
    settled: Settled,
}

impl Gesture {
    /// The handle `kind` of `frame` is taken at `pointer`.
    pub(super) fn begin(kind: Kind, frame: &Frame, sheet: &Sheet, pointer: Pos2) -> Option<Self> {
        let from_um = frame.place(kind, sheet)?;
        let [x, y] = sheet.design_from_screen(pointer);
        let value = frame.value(kind)?;
        Some(Self {
            kind,
            frame: frame.clone(),
            from_um,
            grab_um: [from_um[0] - x, from_um[1] - y],
            settled: Settled { value, caught: None, held: None },
        })
    }

    /// Which handle is in the hand.
    pub(super) fn kind(&self) -> Kind {
        self.kind
    }

    /// Number of the period whose handle it is.
    pub(super) fn period(&self) -> i64 {
        self.frame.period()
    }

    /// What the pull has led to.
    pub(super) fn settled(&self) -> &Settled {
        &self.settled
    }

    /// The pointer is at `pointer`. Without `snapping` nothing is rounded.
    pub(super) fn pull(&mut self, pointer: Pos2, sheet: &Sheet, snapping: bool) {
        let [x, y] = sheet.design_from_screen(pointer);
        let to_um = [x + self.grab_um[0], y + self.grab_um[1]];
        if to_um == self.from_um {
            return;
        }
        let Some(wanted) = self.frame.wanted(self.kind, self.from_um, to_um, sheet) else { return };
        let [step, per_point] = self.frame.step(self.kind, sheet);
        let pull = snapping.then_some(Pull { step, reach: REACH_POINTS * per_point });
        self.settled = settle(self.frame.design(), self.kind.path(), wanted, pull);
    }

    /// The command for this frame.
    pub(super) fn preview(&self) -> Command {
        Command::Preview(self.edit())
    }

    /// The command on release: nothing to keep where the value came back.
    pub(super) fn finish(&self) -> Command {
        if self.frame.value(self.kind) == Some(self.settled.value) {
            Command::Cancel
        } else {
            Command::Commit(self.edit())
        }
    }

    fn edit(&self) -> Edit {
        Edit::number(self.kind.edit_label(), self.kind.path(), self.settled.value)
    }
}

/// A nudge by `count` steps from the keyboard.
pub(super) fn nudge(kind: Kind, frame: &Frame, sheet: &Sheet, count: f64) -> Option<(Settled, Command)> {
    let value = frame.value(kind)?;
    let [step, _] = frame.step(kind, sheet);
    let settled = settle(frame.design(), kind.path(), value + count * step, None);
    let edit = Edit::number(kind.edit_label(), kind.path(), settled.value);
    Some((settled, Command::Commit(edit)))
}
