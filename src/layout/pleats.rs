//! Which neighbours a pleat joins, and the edge pleats: where they leave the panel.

use super::{Button, Fitted, Neighbours};
use crate::{
    frame::{PanelFront, Point},
    job::PatternKind,
    outline::{Foot, Outline},
};
use std::collections::{BTreeMap, BTreeSet};

/// A place or a step on the lattice, in half-columns right and half row gaps up.
pub(super) type Lattice = [i32; 2];

/// Up, right, down and left.
const OUTWARDS: [Lattice; 4] = [[0, 1], [1, 0], [0, -1], [-1, 0]];

/// Between two pleats wider apart than this another runs out to the edge, radians.
const WIDE: f64 = 2.5;

/// A pleat that runs from an outside button straight to the edge, which it meets at a right angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePleat {
    /// Its place among the buttons.
    pub button: usize,
    pub foot: Foot,
}

/// The steps to the neighbours that a pleat joins to a button.
fn spokes(kind: PatternKind) -> [Lattice; 4] {
    match kind {
        PatternKind::Diamond => [[1, 2], [1, -2], [-1, -2], [-1, 2]],
        _ => [[0, 2], [2, 0], [0, -2], [-2, 0]],
    }
}

/// Every pleat (or groove) between two buttons, by their places, the lesser first.
pub(super) fn between(fitted: &Fitted, buttons: &[Button]) -> Vec<[usize; 2]> {
    let steps: &[Lattice] = match fitted.kind {
        PatternKind::Diamond => &[[1, -2], [-1, -2]],
        PatternKind::Square => &[[2, 0], [0, -2]],
        PatternKind::Flutes => &[[0, -2]],
        PatternKind::Single => {
            let places: Vec<[f64; 2]> = buttons.iter().map(|b| [b.at.x, b.at.y]).collect();
            return Neighbours::of(&places).pleats;
        }
    };
    let there: BTreeMap<Lattice, usize> = buttons.iter().map(|b| b.lattice).zip(0..).collect();
    let mut pleats = BTreeSet::new();
    for (&from, &a) in &there {
        let others = steps.iter().filter_map(|step| there.get(&fitted.beside(from, *step)));
        // Both steps inwards from a round's innermost row lead to its centre.
        pleats.extend(others.map(|&b| [a.min(b), a.max(b)]));
    }
    pleats.into_iter().collect()
}

/// Every edge pleat, in order along the outline. A button has one on each side where it has no neighbour
/// and one towards each neighbour that was left out, unless another button stands nearer to where it
/// would end. On a fan the sides are turned with the rays; a groove of flutes runs straight on to both its ends, whatever
/// the outline there; a button at a place of its own has one in the middle of each wide gap between its pleats.
pub(super) fn edge_pleats(
    fitted: &Fitted,
    outline: &Outline,
    buttons: &[Button],
    dropped: &[Button],
) -> Vec<EdgePleat> {
    let mut pleats: Vec<EdgePleat> = Vec::new();
    for (button, from, out) in directions(fitted, buttons, dropped) {
        let straight_on = fitted.kind == PatternKind::Flutes;
        let foot = match straight_on {
            true => outline.exit(from, out),
            false => outline.foot(from, out),
        };
        let end = Point::new(foot.at[0], foot.at[1]);
        let length = from.distance(end);
        let nearer =
            !straight_on && buttons.iter().any(|other| other.at.distance(end) < length - 1e-6);
        let twice = pleats.iter().any(|pleat| {
            let [x, y] = pleat.foot.at;
            pleat.button == button && end.distance(Point::new(x, y)) < 1e-6
        });
        if !nearer && !twice {
            pleats.push(EdgePleat { button, foot });
        }
    }
    pleats.sort_by(|a, b| a.foot.along.total_cmp(&b.foot.along));
    pleats
}

/// Every button with each way in which a pleat may leave it for the edge.
fn directions(
    fitted: &Fitted,
    buttons: &[Button],
    dropped: &[Button],
) -> Vec<(usize, Point<PanelFront>, [f64; 2])> {
    let kind = fitted.kind;
    let lattice = |of: &[Button]| of.iter().map(|b| b.lattice).collect::<BTreeSet<Lattice>>();
    let (there, left_out) = (lattice(buttons), lattice(dropped));
    let of_one = |from: &Button| -> Vec<[f64; 2]> {
        let open = OUTWARDS.into_iter().filter(|out| is_open(fitted, &there, from.lattice, *out));
        let gaps = spokes(kind)
            .into_iter()
            .filter(|step| left_out.contains(&fitted.beside(from.lattice, *step)));
        let steps = open.chain(gaps).map(|step| step.map(f64::from));
        match &fitted.fan {
            None => steps.collect(),
            Some(rays) => {
                let [along, out] = rays.axes([from.at.x, from.at.y]);
                steps.map(|[x, y]| [0, 1].map(|i| along[i] * x + out[i] * y)).collect()
            }
        }
    };
    let ways: Vec<Vec<[f64; 2]>> = match kind {
        PatternKind::Single => gaps(buttons),
        PatternKind::Flutes => buttons.iter().map(|from| groove_ends(&there, from)).collect(),
        PatternKind::Diamond | PatternKind::Square => buttons.iter().map(of_one).collect(),
    };
    let all = buttons.iter().zip(ways).enumerate();
    all.flat_map(|(i, (from, ways))| ways.into_iter().map(move |way| (i, from.at, way))).collect()
}

/// Up from the first tie of a groove, down from its last.
fn groove_ends(there: &BTreeSet<Lattice>, from: &Button) -> Vec<[f64; 2]> {
    let end = |up: &i32| !there.contains(&plus(from.lattice, [0, 2 * up]));
    [1, -1].into_iter().filter(end).map(|up| [0.0, f64::from(up)]).collect()
}

/// The middles of the wide gaps between the pleats of buttons at places of their own.
fn gaps(buttons: &[Button]) -> Vec<Vec<[f64; 2]>> {
    let places: Vec<[f64; 2]> = buttons.iter().map(|b| [b.at.x, b.at.y]).collect();
    let mut angles: Vec<Vec<f64>> = vec![Vec::new(); places.len()];
    for [a, b] in Neighbours::of(&places).pleats {
        for [from, to] in [[a, b], [b, a]] {
            let way = [places[to][0] - places[from][0], places[to][1] - places[from][1]];
            angles[from].push(libm::atan2(way[1], way[0]));
        }
    }
    let of_one = |mut angles: Vec<f64>| -> Vec<[f64; 2]> {
        angles.sort_by(f64::total_cmp);
        let Some(&first) = angles.first() else {
            return OUTWARDS.map(|out| out.map(f64::from)).to_vec();
        };
        angles.push(first + std::f64::consts::TAU);
        let wide = angles.windows(2).filter(|pair| pair[1] - pair[0] > WIDE);
        let middle = |pair: &[f64]| {
            let (sin, cos) = libm::sincos((pair[0] + pair[1]) / 2.0);
            [cos, sin]
        };
        wide.map(middle).collect()
    };
    angles.into_iter().map(of_one).collect()
}

/// Whether a button has nothing beside it in a direction.
fn is_open(fitted: &Fitted, there: &BTreeSet<Lattice>, from: Lattice, out: Lattice) -> bool {
    let outward = |step: &Lattice| step[0] * out[0] + step[1] * out[1] > 0;
    let mut beside = spokes(fitted.kind).into_iter().chain([[2, 0], [-2, 0]]).filter(outward);
    !beside.any(|step| there.contains(&fitted.beside(from, step)))
}

pub(super) fn plus(a: Lattice, b: Lattice) -> Lattice {
    [a[0] + b[0], a[1] + b[1]]
}
