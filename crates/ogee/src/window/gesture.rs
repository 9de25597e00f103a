//! Where a drag is.

use egui::{Event, InputState, PointerButton, Pos2};

/// Where the pointer drags to in this frame: where the button was let go, if it was, else where it is now. In a slow
/// frame the pointer may have moved on after the release; that no longer belongs to the drag.
pub(super) fn drag_pos(input: &InputState) -> Option<Pos2> {
    let released = input.events.iter().find_map(|event| match event {
        Event::PointerButton { pos, button: PointerButton::Primary, pressed: false, .. } => Some(*pos),
        _ => None,
    });
    released.or_else(|| input.pointer.latest_pos())
}
