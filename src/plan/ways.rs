//! The way of a cut that goes round: on a spiral where one set-up reaches all of it, in parts where none does.
//!
//! On a spiral the tool goes deeper by no more than a bite each time round, and once more round at the bottom. A part is
//! cut bite by bite, in the direction that was asked for but for its first few centimetres: the tool comes down on a slope
//! along the way, goes back to where it began through the wedge that is left there, and then along the whole part. Parts
//! lap over each other's ends. Over a tab the tool is lifted.

use super::{Leg, Round, Step, Thing, Um, um};
use crate::{
    job::CutOut,
    machine::Tool,
    outline::{self, Corner, Piece},
};

/// Shorter pieces of a way are left out, mm: offsetting leaves some.
const DOT: f64 = 0.01;
/// No arc turns farther, radians: one quarter can be said by its radius as well.
const QUARTER: f64 = std::f64::consts::FRAC_PI_2;
/// A part of a way goes so far beyond each of its ends, mm: more than dowels have play.
const LAP: f64 = 3.0;
/// A tool comes down into the wood over so many times what it comes down: common practice, no source.
const SLOPE: f64 = 10.0;
/// Ends and middles of arcs are rounded each by itself, so an arc may go so far beyond its own box.
const ROUNDED: Um = 5;
/// What is given to one set-up or another as a whole is no longer than this, mm.
const STRETCH: f64 = 40.0;

/// A closed way to be cut along, from the board's top down to what the tool breaks through by.
pub(super) struct Way {
    pub what: Thing,
    pieces: Vec<Along>,
    length: f64,
    /// How deep, mm.
    depth: f64,
    /// How deep over a tab, mm.
    tab: f64,
    /// In how many bites.
    bites: u32,
}

/// A piece of a way.
#[derive(Clone, Copy)]
struct Along {
    piece: Piece,
    length: f64,
    tab: bool,
}

impl Along {
    const fn backwards(self) -> Self {
        let Piece { from, to, bulge } = self.piece;
        Along { piece: Piece { from: to, to: from, bulge: -bulge }, ..self }
    }
}

impl Way {
    pub fn new(
        what: Thing,
        corners: &[Corner],
        thickness: f64,
        tool: &Tool,
        asked: &CutOut,
    ) -> Self {
        let pieces = parted(corners, asked, tool.diameter);
        let depth = thickness + tool.break_through;
        let bite = tool.peck.min(tool.diameter / 2.0);
        Way {
            what,
            length: pieces.iter().map(|along| along.length).sum(),
            pieces,
            depth,
            tab: if asked.tabs > 0 { thickness - asked.tab_height.value } else { depth },
            bites: (depth / bite - 1e-9).ceil().max(1.0) as u32,
        }
    }

    /// Round and round, in one set-up.
    pub fn round(&self) -> Step {
        let from = place(self.pieces[0].piece.from);
        let mut legs = Legs { here: [from[0], from[1], 0], legs: Vec::new(), tab: self.tab };
        let bites = f64::from(self.bites);
        for turn in 0..=self.bites {
            let mut done = 0.0;
            let height = |done: f64| {
                let turned = (f64::from(turn) + done / self.length).min(bites);
                -self.depth * turned / bites
            };
            for along in &self.pieces {
                legs.go(along, [done, done + along.length].map(height));
                done += along.length;
            }
        }
        Step::Cut { what: self.what, from, legs: legs.legs }
    }

    /// What can be given to one set-up or another: how many, all alike long.
    pub fn stretches(&self) -> usize {
        (self.length / STRETCH).ceil().max(1.0) as usize
    }

    /// Where one of the stretches, or one past the last, begins.
    fn begins(&self, stretch: usize) -> f64 {
        self.length * stretch as f64 / self.stretches() as f64
    }

    /// The box round one stretch and what its ends lap over: least and greatest corner.
    pub fn bounds(&self, stretch: usize) -> [[Um; 2]; 2] {
        let pieces = self.between(self.begins(stretch) - LAP, self.begins(stretch + 1) + LAP);
        let bounds = pieces.iter().map(|along| along.piece.bounds()).reduce(|a, b| a.union(b));
        let bounds = bounds.expect("a stretch has a length");
        [
            [um(bounds.x0) - ROUNDED, um(bounds.y0) - ROUNDED],
            [um(bounds.x1) + ROUNDED, um(bounds.y1) + ROUNDED],
        ]
    }

    /// Some stretches one after the other, bite by bite.
    pub fn part(&self, Part { first, count }: Part) -> Vec<Step> {
        let [begin, end] = [self.begins(first) - LAP, self.begins(first + count) + LAP];
        let pieces = self.between(begin, end);
        let bite = self.depth / f64::from(self.bites);
        let slope = self.between(begin, end.min(begin + SLOPE * bite));
        let long: f64 = slope.iter().map(|along| along.length).sum();
        let from = place(pieces[0].piece.from);
        let passes = (1..=self.bites).map(|n| {
            let [above, below] = [n - 1, n].map(|n| -bite * f64::from(n));
            let mut legs = Legs { here: [from[0], from[1], 0], legs: Vec::new(), tab: self.tab };
            let mut done = 0.0;
            for along in &slope {
                let height = |done: f64| above + (below - above) * done / long;
                legs.go(along, [done, done + along.length].map(height));
                done += along.length;
            }
            slope.iter().rev().for_each(|along| legs.go(&along.backwards(), [below; 2]));
            pieces.iter().for_each(|along| legs.go(along, [below; 2]));
            Step::Cut { what: self.what, from, legs: legs.legs }
        });
        passes.collect()
    }

    /// The pieces from one place to another, mm along the way; the way goes on before its beginning and past its end.
    fn between(&self, from: f64, to: f64) -> Vec<Along> {
        let mut pieces: Vec<Along> = Vec::new();
        for round in -1..=1 {
            let mut begin = f64::from(round) * self.length;
            for along in &self.pieces {
                let end = begin + along.length;
                // What is less than a dot is left to the neighbour.
                let share = |at: f64, nothing: f64, all: f64| match at {
                    at if at <= begin + DOT => nothing,
                    at if at >= end - DOT => all,
                    at => (at - begin) / along.length,
                };
                let [a, b] = [share(from, 0.0, 1.0), share(to, 0.0, 1.0)];
                if a < b {
                    let [upto, _] = if b < 1.0 { along.piece.parted(b) } else { [along.piece; 2] };
                    let [_, piece] = if a > 0.0 { upto.parted(a / b) } else { [upto; 2] };
                    pieces.push(Along { piece, length: piece.length(), ..*along });
                }
                begin = end;
            }
        }
        pieces
    }
}

/// Stretches of one way that lie one after the other, round past the last if need be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Part {
    pub first: usize,
    pub count: usize,
}

/// Who cuts which stretches of a way, given what each set-up reaches of them: all in one set-up where one reaches all,
/// else in as few parts as can be. Of set-ups that do alike a later one is taken, so that the sheet is whole for as long
/// as it can be. Somebody reaches every stretch.
pub(super) fn shared_out(reached: &[&[bool]]) -> Vec<(usize, Part)> {
    let n = reached.first().map_or(0, |stretches| stretches.len());
    // How many stretches one set-up cuts from here on.
    let run =
        |setup: usize, first: usize| (0..n).take_while(|i| reached[setup][(first + i) % n]).count();
    let farthest = |first: usize| {
        let runs = (0..reached.len()).map(|setup| (run(setup, first), setup));
        runs.max().expect("there is a set-up")
    };
    let from = |start: usize| {
        let mut parts = Vec::new();
        let mut done = 0;
        while done < n {
            let first = (start + done) % n;
            let (count, setup) = farthest(first);
            assert!(count > 0, "every stretch is within reach of a set-up");
            let count = count.min(n - done);
            parts.push((setup, Part { first, count }));
            done += count;
        }
        parts
    };
    (0..n).map(from).min_by_key(Vec::len).unwrap_or_default()
}

/// Legs of a cut, while they are gathered.
struct Legs {
    here: [Um; 3],
    legs: Vec<Leg>,
    /// Over a tab no deeper than this, mm.
    tab: f64,
}

impl Legs {
    /// Along a piece, from one height to another; up onto a tab, and down behind it.
    fn go(&mut self, along: &Along, heights: [f64; 2]) {
        let [start, end] = heights.map(|z| match along.tab {
            true => um(z.max(-self.tab)),
            false => um(z),
        });
        let [x, y] = place(along.piece.from);
        self.to([x, y, start], None);
        let [x, y] = place(along.piece.to);
        let round = (!along.piece.is_straight()).then(|| {
            let way = if along.piece.bulge > 0.0 { Round::Anticlockwise } else { Round::Clockwise };
            (place(along.piece.centre()), way)
        });
        self.to([x, y, end], round);
    }

    fn to(&mut self, to: [Um; 3], round: Option<([Um; 2], Round)>) {
        if to != self.here {
            self.legs.push(Leg { to, round });
            self.here = to;
        }
    }
}

fn place(at: [f64; 2]) -> [Um; 2] {
    at.map(um)
}

/// How many tabs a way of this length has room for, of those that are asked for.
pub(super) fn tabs(whole: f64, asked: &CutOut, diameter: f64) -> u32 {
    // As much is cut as is left.
    let room = whole / (2.0 * (asked.tab_length + diameter));
    asked.tabs.min(room as u32)
}

/// The way in pieces of at most a quarter circle, each wholly over a tab or wholly beside; it begins in the middle of
/// the longest straight piece. Tabs stand evenly, the first half a space from the beginning.
fn parted(way: &[Corner], asked: &CutOut, diameter: f64) -> Vec<Along> {
    let mut pieces: Vec<Piece> =
        outline::pieces(way).filter(|piece| piece.length() > DOT).collect();
    // What was left out leaves a gap that is closed here.
    let n = pieces.len();
    for i in 0..n {
        let from = pieces[(i + n - 1) % n].to;
        pieces[i].from = from;
    }
    let longest = (0..n)
        .max_by(|&a, &b| {
            let rank = |i: usize| (pieces[i].is_straight(), pieces[i].length());
            rank(a).0.cmp(&rank(b).0).then(rank(a).1.total_cmp(&rank(b).1))
        })
        .expect("a way has pieces");
    pieces.rotate_left(longest);
    let [first, second] = pieces[0].parted(0.5);
    pieces[0] = second;
    pieces.push(first);
    let whole: f64 = pieces.iter().map(Piece::length).sum();
    // The cutter takes its own width from a tab's two ends.
    let wide = asked.tab_length + diameter;
    let tabs = tabs(whole, asked, diameter);
    let space = whole / f64::from(tabs.max(1));
    let mut marks: Vec<f64> = Vec::new();
    for tab in 0..tabs {
        let middle = (f64::from(tab) + 0.5) * space;
        marks.extend([middle - wide / 2.0, middle + wide / 2.0]);
    }
    let mut all = Vec::new();
    let mut done = 0.0;
    for piece in pieces {
        let length = piece.length();
        let mut cuts: Vec<f64> = marks
            .iter()
            .filter(|mark| **mark > done + DOT && **mark < done + length - DOT)
            .map(|mark| (mark - done) / length)
            .collect();
        let quarters = (piece.turn().abs() / QUARTER - 1e-9).ceil().max(1.0);
        cuts.extend((1..quarters as u32).map(|i| f64::from(i) / quarters));
        cuts.push(1.0);
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|a, b| (*a - *b).abs() * length < DOT);
        let mut rest = piece;
        let mut from = 0.0;
        for cut in cuts {
            let here = match cut >= 1.0 {
                true => rest,
                false => {
                    let [here, left] = rest.parted((cut - from) / (1.0 - from));
                    rest = left;
                    here
                }
            };
            let middle = done + (from + cut) / 2.0 * length;
            let before = marks.iter().filter(|mark| **mark < middle).count();
            all.push(Along { piece: here, length: here.length(), tab: before % 2 == 1 });
            from = cut;
        }
        done += length;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The fewest runs that cover a circle of stretches, by trying all ways to begin and all ways on.
    fn fewest(reached: &[Vec<bool>]) -> usize {
        let n = reached[0].len();
        let runs = |first: usize| {
            reached.iter().map(move |setup| (0..n).take_while(|i| setup[(first + i) % n]).count())
        };
        let from = |start: usize| {
            // Parts needed to have done so many.
            let mut least = vec![usize::MAX; n + 1];
            least[0] = 0;
            for done in 0..n {
                if least[done] == usize::MAX {
                    continue;
                }
                for run in runs((start + done) % n) {
                    for end in done + 1..=(done + run).min(n) {
                        least[end] = least[end].min(least[done] + 1);
                    }
                }
            }
            least[n]
        };
        (0..n).map(from).min().expect("there are stretches")
    }

    proptest! {
        #[test]
        fn a_way_is_shared_out_in_the_fewest_parts(
            mut reached in prop::collection::vec(prop::collection::vec(any::<bool>(), 9), 1..4),
            owner in prop::collection::vec(0usize..4, 9),
        ) {
            // Somebody reaches every stretch.
            for (i, owner) in owner.into_iter().enumerate() {
                let k = owner % reached.len();
                reached[k][i] = true;
            }
            let slices: Vec<&[bool]> = reached.iter().map(Vec::as_slice).collect();
            let parts = shared_out(&slices);
            prop_assert_eq!(parts.len(), fewest(&reached));
            let mut cut = [0; 9];
            for (setup, Part { first, count }) in &parts {
                for i in (0..*count).map(|i| (first + i) % 9) {
                    prop_assert!(reached[*setup][i]);
                    cut[i] += 1;
                }
            }
            prop_assert_eq!(cut, [1; 9]);
            // Of set-ups that reach all of it, the last.
            let last = reached.iter().rposition(|setup| setup.iter().all(|r| *r));
            if let Some(last) = last {
                prop_assert_eq!(parts, vec![(last, Part { first: 0, count: 9 })]);
            }
        }
    }
}
