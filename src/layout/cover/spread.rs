//! Where the buttons lie on the flat cloth.
//!
//! Regular work lies on a lattice of its own, exactly. Where rows differ, no flat cloth gives every
//! neighbour exactly what it wants: across, up and along every pleat the distance marked is brought as
//! near to the distance wanted as can be, in the sense of least squares, and what is left over is
//! the strain of the cloth there.

use super::allowance::{PerRow, gap_share};
use crate::{
    frame::{CoverFront, Point},
    job::PatternKind,
    layout::{Button, Fitted, Name},
};
use std::collections::BTreeMap;

/// Distances nearer than this to what is wanted are what is wanted, mm.
const EXACT: f64 = 1e-6;
/// The work is done when no button moves farther than this in a round, mm.
const STILL: f64 = 1e-8;
/// A hair of resistance to moving at all, against the pull of a link as 1: it keeps the cloth as a whole
/// where it is, which no link does.
const RESISTANCE: f64 = 1e-7;
/// How small the rest of the normal equations becomes, against what it was.
const SOLVED: f64 = 1e-12;
/// Rounds of Gauss-Newton; from a lattice it takes five or so.
const ROUNDS: usize = 60;

/// The cloth wanted and found between two neighbours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strain {
    pub from: Name,
    pub to: Name,
    pub wanted: f64,
    pub found: f64,
}

impl Strain {
    /// Positive where the cloth must stretch.
    pub fn per_cent(self) -> f64 {
        // More distance marked than wanted leaves cloth over, less must be made up by stretching.
        (self.wanted / self.found - 1.0) * 100.0
    }
}

pub struct Spread {
    /// In the order of the buttons.
    pub at: Vec<Point<CoverFront>>,
    /// Neighbours that do not get what they want, worst first. Empty for regular work.
    pub strained: Vec<Strain>,
}

/// Distances on the cloth that the pattern wants.
pub struct Wanted<'a> {
    pub fitted: &'a Fitted,
    pub allowance: &'a PerRow,
    /// Per cent, across and down.
    pub stretch: [f64; 2],
}

impl Wanted<'_> {
    /// Cloth from one button to another: across and down, both positive.
    fn cloth(&self, a: &Button, b: &Button) -> [f64; 2] {
        let rows =
            [a.name.row.min(b.name.row) as usize - 1, a.name.row.max(b.name.row) as usize - 1];
        let [ax, bx] = [a, b].map(|button| self.allowance.across[button.name.row as usize - 1]);
        let columns = f64::from((a.lattice[0] - b.lattice[0]).abs()) / 2.0;
        let across = (a.at.x - b.at.x).abs() + columns * (ax + bx) / 2.0;
        let gaps: f64 = self.allowance.down[rows[0]..rows[1]].iter().sum();
        let down = (a.at.y - b.at.y).abs() + gaps * gap_share(self.fitted.kind);
        [self.stretched(0, across), self.stretched(1, down)]
    }

    /// What is marked so that it stretches to `wanted`.
    pub fn stretched(&self, axis: usize, wanted: f64) -> f64 {
        wanted / (1.0 + self.stretch[axis] / 100.0)
    }

    /// Where the lattice alone puts a button: right for regular work, a beginning for the rest.
    fn on_lattice(&self, button: &Button) -> Point<CoverFront> {
        let row = button.name.row as usize - 1;
        let pitch = self.fitted.width + self.allowance.across[row];
        let x = self.stretched(0, f64::from(button.lattice[0]) * pitch / 2.0);
        let share = gap_share(self.fitted.kind);
        let down =
            |gaps: &[f64]| -> f64 { gaps.iter().map(|a| self.fitted.row_gap() + share * a).sum() };
        let regular = self.allowance.down.iter().all(|a| *a == self.allowance.down[0]);
        let y = if regular {
            let a = self.allowance.down.first().copied().unwrap_or(0.0);
            f64::from(button.lattice[1]) * (self.fitted.row_gap() + share * a) / 2.0
        } else {
            down(&self.allowance.down) / 2.0 - down(&self.allowance.down[..row])
        };
        Point::new(x, self.stretched(1, y))
    }
}

/// Spreads the buttons on the flat cloth.
pub fn spread(buttons: &[Button], wanted: &Wanted) -> Spread {
    let mut at: Vec<[f64; 2]> =
        buttons.iter().map(|b| wanted.on_lattice(b)).map(|p| [p.x, p.y]).collect();
    let links = links(buttons, wanted);
    if links.iter().any(|link| link.over(&at).abs() > EXACT) {
        settle(&mut at, &links);
    }
    let mut strained: Vec<Strain> = links
        .iter()
        .filter(|link| link.over(&at).abs() > EXACT)
        .map(|link| Strain {
            from: buttons[link.ends[0]].name,
            to: buttons[link.ends[1]].name,
            wanted: link.wanted,
            found: link.wanted + link.over(&at),
        })
        .collect();
    strained.sort_by(|a, b| b.per_cent().abs().total_cmp(&a.per_cent().abs()));
    Spread { at: at.into_iter().map(|[x, y]| Point::new(x, y)).collect(), strained }
}

/// Two neighbours and the cloth wanted between them.
struct Link {
    ends: [usize; 2],
    wanted: f64,
}

impl Link {
    /// From the first end to the second: the direction and the distance.
    fn along(&self, at: &[[f64; 2]]) -> ([f64; 2], f64) {
        let [a, b] = self.ends.map(|end| at[end]);
        let [x, y] = [b[0] - a[0], b[1] - a[1]];
        let length = (x * x + y * y).sqrt();
        ([x / length, y / length], length)
    }

    /// By how much the distance is more than wanted.
    fn over(&self, at: &[[f64; 2]]) -> f64 {
        self.along(at).1 - self.wanted
    }
}

/// Across, up, and along every pleat; in square work the diagonals keep the bays from leaning.
fn links(buttons: &[Button], wanted: &Wanted) -> Vec<Link> {
    let steps: [[i32; 2]; 4] = match wanted.fitted.kind {
        PatternKind::Diamond => [[2, 0], [0, -4], [1, -2], [-1, -2]],
        PatternKind::Square => [[2, 0], [0, -2], [2, -2], [-2, -2]],
    };
    let there: BTreeMap<[i32; 2], usize> =
        buttons.iter().enumerate().map(|(i, b)| (b.lattice, i)).collect();
    let mut links = Vec::new();
    for (i, button) in buttons.iter().enumerate() {
        for step in steps {
            let [x, y] = button.lattice;
            if let Some(&j) = there.get(&[x + step[0], y + step[1]]) {
                let [across, down] = wanted.cloth(button, &buttons[j]);
                let wanted = (across * across + down * down).sqrt();
                links.push(Link { ends: [i, j], wanted });
            }
        }
    }
    links
}

/// Least squares by Gauss-Newton, a little damped: each round solves the normal equations of the links'
/// directions by conjugate gradients.
fn settle(at: &mut [[f64; 2]], links: &[Link]) {
    for _ in 0..ROUNDS {
        let along: Vec<[f64; 2]> = links.iter().map(|link| link.along(at).0).collect();
        let over: Vec<f64> = links.iter().map(|link| link.over(at)).collect();
        let step = normal_step(at.len(), links, &along, &over);
        let mut farthest = 0.0_f64;
        for (place, step) in at.iter_mut().zip(&step) {
            for axis in 0..2 {
                place[axis] -= step[axis];
                farthest = farthest.max(step[axis].abs());
            }
        }
        if farthest < STILL {
            return;
        }
    }
}

/// The step s with J·s = over in the sense of least squares.
fn normal_step(n: usize, links: &[Link], along: &[[f64; 2]], over: &[f64]) -> Vec<[f64; 2]> {
    // Jᵀ·f: what the links pull at each button.
    let gather = |pulls: &[f64]| {
        let mut sum = vec![[0.0; 2]; n];
        for ((link, way), pull) in links.iter().zip(along).zip(pulls) {
            for axis in 0..2 {
                sum[link.ends[0]][axis] -= way[axis] * pull;
                sum[link.ends[1]][axis] += way[axis] * pull;
            }
        }
        sum
    };
    // J·s: how much each link lengthens.
    let lengthen = |step: &[[f64; 2]]| -> Vec<f64> {
        let each = links.iter().zip(along);
        each.map(|(link, way)| {
            let [a, b] = link.ends.map(|end| step[end]);
            (b[0] - a[0]) * way[0] + (b[1] - a[1]) * way[1]
        })
        .collect()
    };
    let dot = |a: &[[f64; 2]], b: &[[f64; 2]]| -> f64 {
        a.iter().zip(b).map(|(a, b)| a[0] * b[0] + a[1] * b[1]).sum()
    };
    let mut step = vec![[0.0; 2]; n];
    let mut rest = gather(over);
    let mut way = rest.clone();
    let mut size = dot(&rest, &rest);
    let small = size * SOLVED * SOLVED;
    for _ in 0..8 * n {
        if size <= small {
            break;
        }
        let mut pulled = gather(&lengthen(&way));
        for (pulled, way) in pulled.iter_mut().zip(&way) {
            *pulled = [pulled[0] + RESISTANCE * way[0], pulled[1] + RESISTANCE * way[1]];
        }
        let share = size / dot(&way, &pulled);
        for i in 0..n {
            for axis in 0..2 {
                step[i][axis] += share * way[i][axis];
                rest[i][axis] -= share * pulled[i][axis];
            }
        }
        let before = size;
        size = dot(&rest, &rest);
        for i in 0..n {
            for axis in 0..2 {
                way[i][axis] = rest[i][axis] + size / before * way[i][axis];
            }
        }
    }
    step
}
