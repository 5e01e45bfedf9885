//! The proof over all tiles of one piece of the cover: every line drawn once, and nothing else but the
//! crosses by which the cloth is laid again.
//!
//! Each program is proven by itself before. Here what the pen drew is carried back onto the cloth and held
//! against the layout's own lines, however they were parted on the way.

use super::{
    Lapse, Part, distance,
    strokes::{Run, runs},
};
use crate::{
    layout::{LineKind, Piece},
    plan::{Step, Um, mm, um},
};
use std::collections::BTreeMap;

/// Ends and lines agree within this, mm: a plotter's unit, and the rounding of two tiles.
const SAME: f64 = 0.03;
/// Lines are looked for in squares of this side, mm.
const SQUARE: f64 = 50.0;
/// Length of an arm of a cross, mm.
const ARM: f64 = 12.0;

/// One straight leg of a line of the layout, and how much of it is drawn.
struct Leg {
    from: [f64; 2],
    to: [f64; 2],
    kind: LineKind,
    drawn: Vec<Ink>,
}

/// Part of a leg that is drawn.
struct Ink {
    /// From where to where, mm from the leg's beginning.
    part: [f64; 2],
    setup: u32,
    /// Which going down of the pen, counted over all set-ups.
    run: usize,
}

impl Leg {
    fn long(&self) -> f64 {
        distance(self.from, self.to)
    }

    /// How far along a place is, and how far beside.
    fn along(&self, at: [f64; 2]) -> [f64; 2] {
        let way = [0, 1].map(|axis| (self.to[axis] - self.from[axis]) / self.long());
        let d = [0, 1].map(|axis| at[axis] - self.from[axis]);
        [d[0] * way[0] + d[1] * way[1], (d[0] * way[1] - d[1] * way[0]).abs()]
    }

    /// The part of it that goes from one place to another, if all of that lies on it.
    fn part(&self, from: [f64; 2], to: [f64; 2]) -> Option<[f64; 2]> {
        let ([a, beside_a], [b, beside_b]) = (self.along(from), self.along(to));
        let (low, high) = (a.min(b), a.max(b));
        let on = beside_a.max(beside_b) <= SAME && low >= -SAME && high <= self.long() + SAME;
        on.then_some([low, high])
    }

    /// What another going down of the pen has drawn there already. Within one the pen may go back over its own
    /// line, so as not to be lifted.
    fn before(&self, [low, high]: [f64; 2], run: usize) -> Option<&Ink> {
        self.drawn
            .iter()
            .find(|ink| ink.run != run && high.min(ink.part[1]) - low.max(ink.part[0]) > 2.0 * SAME)
    }

    /// Has this going down of the pen drawn all of that already?
    fn goes_back(&self, part: [f64; 2], run: usize) -> bool {
        let own = || self.drawn.iter().filter(|ink| ink.run == run).map(|ink| ink.part);
        covered(own()) >= covered(own().chain([part])) - 2.0 * SAME
    }

    /// How much of it is not drawn, mm; also if this were drawn besides.
    fn left(&self, besides: Option<[f64; 2]>) -> f64 {
        self.long() - covered(self.drawn.iter().map(|ink| ink.part).chain(besides))
    }
}

/// How much all these parts cover together, mm.
fn covered(parts: impl Iterator<Item = [f64; 2]>) -> f64 {
    let mut parts: Vec<[f64; 2]> = parts.collect();
    parts.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let (mut sum, mut end) = (0.0, f64::NEG_INFINITY);
    for [low, high] in parts {
        sum += (high - low.max(end)).max(0.0);
        end = end.max(high);
    }
    sum
}

/// Finds legs by where they are.
struct Legs {
    legs: Vec<Leg>,
    by_square: BTreeMap<[i64; 2], Vec<usize>>,
}

impl Legs {
    fn of(piece: &Piece) -> Self {
        let mut legs: Vec<Leg> = Vec::new();
        for line in &piece.lines {
            legs.extend(line.points.windows(2).map(|leg| Leg {
                from: [leg[0].x, leg[0].y],
                to: [leg[1].x, leg[1].y],
                kind: line.kind,
                drawn: Vec::new(),
            }));
        }
        legs.retain(|leg| leg.long() > SAME);
        let mut by_square: BTreeMap<[i64; 2], Vec<usize>> = BTreeMap::new();
        for (i, leg) in legs.iter().enumerate() {
            let steps = (leg.long() / (SQUARE / 2.0)).ceil().max(1.0);
            for k in 0..=steps as u32 {
                let part = f64::from(k) / steps;
                let at = [0, 1].map(|axis| leg.from[axis] + (leg.to[axis] - leg.from[axis]) * part);
                let here = by_square.entry(square(at)).or_default();
                if here.last() != Some(&i) {
                    here.push(i);
                }
            }
        }
        Legs { legs, by_square }
    }

    /// Legs that may pass here: any that does has been noted within half a square.
    fn near(&self, at: [f64; 2]) -> Vec<usize> {
        let [x, y] = square(at);
        let squares = (x - 1..=x + 1).flat_map(|x| (y - 1..=y + 1).map(move |y| [x, y]));
        let mut near: Vec<usize> =
            squares.filter_map(|square| self.by_square.get(&square)).flatten().copied().collect();
        near.sort_unstable();
        near.dedup();
        near
    }

    /// Notes what was drawn. Gives `None` where no line is, and whether it was drawn before.
    fn draw(&mut self, from: [f64; 2], to: [f64; 2], setup: u32, run: usize) -> Option<Drawn> {
        let middle = [0, 1].map(|axis| (from[axis] + to[axis]) / 2.0);
        let on: Vec<(usize, [f64; 2])> = self
            .near(middle)
            .into_iter()
            .filter_map(|i| self.legs[i].part(from, to).map(|part| (i, part)))
            .collect();
        let is_free = |(i, part): &(usize, [f64; 2])| self.legs[*i].before(*part, run).is_none();
        // Lines may lie on one another. A whole leg is itself, whatever it lies on; then comes what the pen
        // goes back over; of others, the one of which least would be left.
        let is_whole = |(i, [low, high]): &(usize, [f64; 2])| {
            let leg = &self.legs[*i];
            leg.left(None) > 2.0 * SAME && high - low >= leg.long() - 2.0 * SAME
        };
        let left = |(i, part): &(usize, [f64; 2])| self.legs[*i].left(Some(*part));
        let whole = on.iter().find(|here| is_free(here) && is_whole(here));
        if whole.is_none() && on.iter().any(|(i, part)| self.legs[*i].goes_back(*part, run)) {
            return Some(Drawn::Once);
        }
        let least =
            || on.iter().filter(|here| is_free(here)).min_by(|a, b| left(a).total_cmp(&left(b)));
        if let Some(&(i, part)) = whole.or_else(least) {
            self.legs[i].drawn.push(Ink { part, setup, run });
            return Some(Drawn::Once);
        }
        let &(i, part) = on.first()?;
        let before = self.legs[i].before(part, run).map_or(setup, |ink| ink.setup);
        Some(Drawn::Again(self.legs[i].kind, before))
    }
}

enum Drawn {
    Once,
    /// In this set-up already.
    Again(LineKind, u32),
}

fn square(at: [f64; 2]) -> [i64; 2] {
    at.map(|mm| (mm / SQUARE).floor() as i64)
}

/// Holds all tiles of a piece together against it. All lapses come back at once.
pub fn across_cover(piece: &Piece, parts: &[Part]) -> Result<(), Vec<Lapse>> {
    let mut legs = Legs::of(piece);
    let mut lapses = Vec::new();
    // Arms of crosses that the tile before drew, by their middles on the cloth.
    let mut arms: Vec<[f64; 2]> = Vec::new();
    let mut run = 0;
    for (k, part) in parts.iter().enumerate() {
        let (setup, lay) = (part.plan.setup.number, part.plan.setup.lay);
        let back = |at: [Um; 2]| lay.back(at).map(mm);
        for shown in shown(part).map(back) {
            let here = arms.iter().filter(|arm| distance(**arm, shown) <= SAME).count();
            if here != 2 {
                lapses.push(Lapse::NoCross { setup, at: shown });
            }
        }
        // Crosses are drawn for the tile that comes after, and for no other.
        let next = parts.get(k + 1);
        let wanted: Vec<[f64; 2]> = next.map_or(Vec::new(), |next| {
            shown(next).map(|at| next.plan.setup.lay.back(at).map(mm)).collect()
        });
        arms.clear();
        for Run { points, .. } in runs(part.verified.trace()) {
            run += 1;
            let places: Vec<[f64; 2]> = points.iter().map(|at| back(at.map(um))).collect();
            for leg in places.windows(2).filter(|leg| distance(leg[0], leg[1]) > SAME) {
                // Where the cloth is moved on the pen goes back over nothing: each leg is told by itself.
                run += usize::from(parts.len() > 1);
                let (from, to) = (leg[0], leg[1]);
                let middle = [0, 1].map(|axis| (from[axis] + to[axis]) / 2.0);
                let of_cross = |cross: &[f64; 2]| distance(*cross, middle) <= SAME;
                // A cross may stand on a line, so what could be one of its two arms is one.
                let is_arm = (distance(from, to) - ARM).abs() <= 2.0 * SAME
                    && wanted.iter().any(of_cross)
                    && arms.iter().filter(|arm| distance(**arm, middle) <= SAME).count() < 2;
                if is_arm {
                    arms.push(middle);
                    continue;
                }
                match legs.draw(from, to, setup, run) {
                    Some(Drawn::Once) => {}
                    Some(Drawn::Again(kind, before)) => lapses.push(Lapse::DrawnTwice {
                        what: what(kind),
                        setups: [before, setup],
                        at: middle,
                    }),
                    None => lapses.push(Lapse::Unwanted { setup, at: middle }),
                }
            }
        }
    }
    for leg in legs.legs.iter().filter(|leg| leg.left(None) > 2.0 * SAME) {
        lapses.push(Lapse::NotDrawn { what: what(leg.kind), at: leg.from });
    }
    if lapses.is_empty() { Ok(()) } else { Err(lapses) }
}

/// Where the program stops over crosses, in its own places.
fn shown<'a>(part: &Part<'a>) -> impl Iterator<Item = [Um; 2]> + use<'a> {
    part.plan.steps.iter().filter_map(|step| match step {
        Step::Show { at, .. } => Some(*at),
        _ => None,
    })
}

fn what(kind: LineKind) -> String {
    match kind {
        LineKind::Mark(name) => format!("the mark of button {name}"),
        LineKind::Cut => "the cut line".to_string(),
        LineKind::Words(_) => "a letter".to_string(),
        _ => "a line".to_string(),
    }
}
