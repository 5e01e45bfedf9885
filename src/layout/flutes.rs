//! Ties of flutes: one that comes too near the edge is moved along its groove, towards the middle.

use super::{Button, Fitted, HAIR};
use crate::{frame::Point, outline::Outline};

/// A tie is moved by no more than this share of the distance between ties; farther, the next one does for it.
const FARTHEST: f64 = 0.5;
/// Each step goes as far as the edge is too near. More do not bring it on: the groove runs along the edge there.
const STEPS: usize = 200;

/// The tie where it keeps its distance from the edge, if there is such a place near enough on its groove.
pub(super) fn keeping_edge(
    fitted: &Fitted,
    outline: &Outline,
    edge: f64,
    tie: &Button,
) -> Option<Button> {
    let farthest = FARTHEST * fitted.row_gap();
    let inwards = if tie.lattice[1] > 0 { -1.0 } else { 1.0 };
    let mut moved = 0.0;
    for _ in 0..STEPS {
        let at = Point::new(tie.at.x, tie.at.y + inwards * moved);
        let lacks = edge - outline.depth(at);
        if lacks <= HAIR {
            return Some(Button { at, ..tie.clone() });
        }
        // No place nearer than what it lacks can be far enough in.
        moved += lacks;
        if moved > farthest {
            return None;
        }
    }
    None
}
