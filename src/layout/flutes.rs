//! Ties of flutes: one that comes too near the edge is moved along its groove.

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
    let moved = [-1.0, 1.0]
        .into_iter()
        .filter_map(|way| Some(way * moved(outline, edge, tie, way, farthest)?));
    let least = moved.min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    Some(Button { at: Point::new(tie.at.x, tie.at.y + least), ..tie.clone() })
}

/// How far it has to be moved that way, mm.
fn moved(outline: &Outline, edge: f64, tie: &Button, way: f64, farthest: f64) -> Option<f64> {
    let mut moved = 0.0;
    for _ in 0..STEPS {
        let lacks = edge - outline.depth(Point::new(tie.at.x, tie.at.y + way * moved));
        if lacks <= HAIR {
            return Some(moved);
        }
        // No place nearer than what it lacks can be far enough in.
        moved += lacks;
        if moved > farthest {
            return None;
        }
    }
    None
}
