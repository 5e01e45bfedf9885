//! Where the buttons lie on the flat cloth.
//!
//! Regular work lies on a lattice of its own, exactly. Where rows differ, no flat cloth gives every
//! neighbour exactly what it wants: across, up and along every pleat the distance marked is brought as
//! near to the distance wanted as can be, in the sense of least squares, and what is left over is
//! the strain of the cloth there.

use super::{
    allowance::{PerRow, gap_share},
    rays::{Axes, LEVEL, RaysOnCloth},
};
use crate::{
    frame::{CoverFront, Point},
    job::PatternKind,
    layout::{Button, Fitted, Name, Neighbours, Rays},
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
        let rows = [
            a.name.row().min(b.name.row()) as usize - 1,
            a.name.row().max(b.name.row()) as usize - 1,
        ];
        let [ax, bx] = [a, b].map(|button| self.allowance.across[button.name.row() as usize - 1]);
        let columns = f64::from((a.lattice[0] - b.lattice[0]).abs()) / 2.0;
        let [along, up] = self.apart(a, b);
        let across = along + columns * (ax + bx) / 2.0;
        let gaps: f64 = self.allowance.down[rows[0]..rows[1]].iter().sum();
        let down = up + gaps * gap_share(self.fitted.kind);
        [self.stretched(0, across), self.stretched(1, down)]
    }

    /// How far two buttons of the panel stand apart along their rows and from row to row. On a fan that is
    /// as seen half-way between them.
    fn apart(&self, a: &Button, b: &Button) -> [f64; 2] {
        let way = [b.at.x - a.at.x, b.at.y - a.at.y];
        let Some(rays) = &self.fitted.fan else { return way.map(f64::abs) };
        let middle = [(a.at.x + b.at.x) / 2.0, (a.at.y + b.at.y) / 2.0];
        rays.axes(middle).map(|axis| (way[0] * axis[0] + way[1] * axis[1]).abs())
    }

    /// What is marked so that it stretches to `wanted`.
    pub fn stretched(&self, axis: usize, wanted: f64) -> f64 {
        wanted / (1.0 + self.stretch[axis] / 100.0)
    }

    /// A fan's rays on the cloth, if there are any.
    pub fn rays(&self) -> Option<RaysOnCloth> {
        self.fitted.fan.as_ref().map(|rays| RaysOnCloth::of(self, rays))
    }

    /// On an open fan rows stand evenly on every ray.
    fn on_rays(&self, rays: &RaysOnCloth, button: &Button) -> Point<CoverFront> {
        let [u, v] = button.lattice.map(f64::from);
        let column = self.fitted.fan.map_or(0.0, |rays| rays.column);
        let [x, y] = rays.out(u / 2.0 * column, v / 2.0 * rays.gap - rays.centre[1]);
        Point::new(self.stretched(0, x), self.stretched(1, y))
    }

    /// Along the row and outwards at a button, on the panel and on the cloth; right and up where rows are level.
    pub fn axes(&self, button: &Button) -> [Axes; 2] {
        self.rays().map_or([LEVEL; 2], |rays| rays.axes([button.at.x, button.at.y]))
    }

    /// How many times as long as the panel the cloth is round a button, along the row and outwards, or inwards.
    pub fn grown(&self, button: &Button, inwards: bool) -> [f64; 2] {
        let [across, down] = self.allowance.figures();
        let (Some(rays), Some(on_cloth)) = (&self.fitted.fan, self.rays()) else {
            return [1.0 + across / self.fitted.width, 1.0 + down / self.fitted.height];
        };
        let row = button.name.row() as usize;
        let innermost = self.allowance.across.len();
        let last = self.allowance.across[innermost - 1];
        // All the way round, cloth inside the innermost row is as much longer in every direction.
        if rays.all_round && (row > innermost || (row == innermost && inwards)) {
            return [1.0 + last / rays.pitch(rays.inner); 2];
        }
        let [x, y] = [button.at.x - rays.centre[0], button.at.y - rays.centre[1]];
        let along = 1.0 + self.allowance.across[row - 1] / rays.pitch(libm::hypot(x, y));
        [along, on_cloth.gap / rays.gap]
    }

    /// All the way round a cone's cloth does not close, so rows do not get what each wants across: every button
    /// lies on its own ray, and what the rows take up between each other moves it outwards ([`PerRow`]).
    fn all_round(&self, rays: &Rays, button: &Button) -> [f64; 2] {
        let [_, out] = rays.axes([button.at.x, button.at.y]);
        // The button at the centre is in no row.
        let across = self.allowance.across.get(button.name.row() as usize - 1);
        let by = across.map_or(0.0, |across| across / rays.chord());
        [0, 1].map(|axis| {
            let at = [button.at.x, button.at.y][axis];
            self.stretched(axis, at + by * out[axis])
        })
    }

    /// Where the lattice alone puts a button: right for regular work, a beginning for the rest.
    fn on_lattice(&self, button: &Button) -> Point<CoverFront> {
        if let Some(rays) = self.rays() {
            return self.on_rays(&rays, button);
        }
        let row = button.name.row() as usize - 1;
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
        // Down its groove the cloth lies as long as the panel, wherever on it a tie is.
        let moved = match self.fitted.kind {
            PatternKind::Flutes => button.at.y - self.fitted.on_panel(button.lattice).y,
            _ => 0.0,
        };
        Point::new(x, self.stretched(1, y + moved))
    }
}

/// Spreads the buttons on the flat cloth.
pub fn spread(buttons: &[Button], wanted: &Wanted) -> Spread {
    let (mut at, links) = match (wanted.fitted.kind, wanted.fitted.all_round()) {
        (PatternKind::Single, _) => scattered(buttons, wanted),
        (_, Some(rays)) => {
            (buttons.iter().map(|b| wanted.all_round(rays, b)).collect(), Vec::new())
        }
        _ => {
            let on_lattice = buttons.iter().map(|b| wanted.on_lattice(b));
            (on_lattice.map(|p| [p.x, p.y]).collect(), links(buttons, wanted))
        }
    };
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
        _ => [[2, 0], [0, -2], [2, -2], [-2, -2]],
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

/// Buttons at places of their own. From neighbour to neighbour the cloth is longer by the allowance, `across` along
/// a level pleat and `down` along an upright one; a brace is as long as the pleats that lead round it, put one to the
/// other. So an even grid of single buttons is marked like the same grid as a pattern.
fn scattered(buttons: &[Button], wanted: &Wanted) -> (Vec<[f64; 2]>, Vec<Link>) {
    let places: Vec<[f64; 2]> = buttons.iter().map(|b| [b.at.x, b.at.y]).collect();
    let Neighbours { pleats, braces } = Neighbours::of(&places);
    let [across, down] = wanted.allowance.figures();
    let cloth = |a: usize, b: usize| {
        let way = [0, 1].map(|i| places[b][i] - places[a][i]);
        let length = (way[0] * way[0] + way[1] * way[1]).sqrt();
        let longer = [way[0] + across * way[0] / length, way[1] + down * way[1] / length];
        [0, 1].map(|axis| wanted.stretched(axis, longer[axis]))
    };
    let mut beside: Vec<Vec<usize>> = vec![Vec::new(); places.len()];
    for &[a, b] in &pleats {
        beside[a].push(b);
        beside[b].push(a);
    }
    let mut links = Vec::new();
    for [a, b] in pleats.iter().chain(&braces).copied() {
        let Some(way) = way_round(&beside, a, b) else { continue };
        let sum = way.windows(2).map(|pair| cloth(pair[0], pair[1]));
        let [x, y] = sum.fold([0.0; 2], |[x, y], [dx, dy]| [x + dx, y + dy]);
        let length = (x * x + y * y).sqrt();
        if length > 0.0 {
            links.push(Link { ends: [a, b], wanted: length });
        }
    }
    // Longer all over by what the pleats ask for on the whole.
    let mean = wanted.fitted.width;
    let start = places.iter().map(|[x, y]| {
        let longer = [x * (1.0 + across / mean), y * (1.0 + down / mean)];
        [0, 1].map(|axis| wanted.stretched(axis, longer[axis]))
    });
    (start.collect(), links)
}

/// The fewest pleats that lead from one button to another, first found first.
fn way_round(beside: &[Vec<usize>], from: usize, to: usize) -> Option<Vec<usize>> {
    let mut before: Vec<Option<usize>> = vec![None; beside.len()];
    let mut open = std::collections::VecDeque::from([from]);
    while let Some(here) = open.pop_front() {
        if here == to {
            let mut way = vec![to];
            while let Some(&last) = way.last().filter(|&&last| last != from) {
                way.push(before[last]?);
            }
            way.reverse();
            return Some(way);
        }
        for &next in &beside[here] {
            if next != from && before[next].is_none() {
                before[next] = Some(here);
                open.push_back(next);
            }
        }
    }
    None
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
