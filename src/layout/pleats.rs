//! Which neighbours a pleat joins, and the edge pleats: where they leave the panel.

use super::Button;
use crate::{
    frame::Point,
    job::PatternKind,
    outline::{Foot, Outline},
};
use std::collections::BTreeSet;

/// Steps on the lattice, in half-columns right and half row gaps up.
type Lattice = [i32; 2];

/// Up, right, down and left.
const OUTWARDS: [Lattice; 4] = [[0, 1], [1, 0], [0, -1], [-1, 0]];

/// A pleat that runs from an outside button straight to the edge, which it meets at a right angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePleat {
    /// Its place among the buttons.
    pub button: usize,
    pub foot: Foot,
}

/// The steps to the neighbours that a pleat joins to a button.
pub fn spokes(kind: PatternKind) -> [Lattice; 4] {
    match kind {
        PatternKind::Diamond => [[1, 2], [1, -2], [-1, -2], [-1, 2]],
        PatternKind::Square => [[0, 2], [2, 0], [0, -2], [-2, 0]],
    }
}

/// Every edge pleat, in order along the outline. A button has one on each side where it has no neighbour
/// and one towards each neighbour that was left out, unless another button stands nearer to where it
/// would end.
pub(super) fn edge_pleats(
    kind: PatternKind,
    outline: &Outline,
    buttons: &[Button],
    dropped: &[Button],
) -> Vec<EdgePleat> {
    let lattice = |of: &[Button]| of.iter().map(|b| b.lattice).collect::<BTreeSet<Lattice>>();
    let (there, left_out) = (lattice(buttons), lattice(dropped));
    let mut pleats: Vec<EdgePleat> = Vec::new();
    for (button, from) in buttons.iter().enumerate() {
        let sides = OUTWARDS.into_iter().filter(|out| is_open(kind, &there, from.lattice, *out));
        let gaps =
            spokes(kind).into_iter().filter(|step| left_out.contains(&plus(from.lattice, *step)));
        for out in sides.chain(gaps) {
            let foot = outline.foot(from.at, out.map(f64::from));
            let end = Point::new(foot.at[0], foot.at[1]);
            let length = from.at.distance(end);
            let nearer = buttons.iter().any(|other| other.at.distance(end) < length - 1e-6);
            let twice = pleats.iter().any(|pleat| {
                let [x, y] = pleat.foot.at;
                pleat.button == button && end.distance(Point::new(x, y)) < 1e-6
            });
            if !nearer && !twice {
                pleats.push(EdgePleat { button, foot });
            }
        }
    }
    pleats.sort_by(|a, b| a.foot.along.total_cmp(&b.foot.along));
    pleats
}

/// Whether a button has nothing beside it in a direction.
fn is_open(kind: PatternKind, there: &BTreeSet<Lattice>, from: Lattice, out: Lattice) -> bool {
    let outward = |step: &Lattice| step[0] * out[0] + step[1] * out[1] > 0;
    let mut beside = spokes(kind).into_iter().chain([[2, 0], [-2, 0]]).filter(outward);
    !beside.any(|step| there.contains(&plus(from, step)))
}

fn plus(a: Lattice, b: Lattice) -> Lattice {
    [a[0] + b[0], a[1] + b[1]]
}
