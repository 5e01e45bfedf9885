//! All that the pen draws on the back of one piece: marks, lines, notches, and words where there is room.

use super::{
    CutEdges, Drawn, HAIR, LineKind, Whole, clip,
    joins::{Cut, Join, Side, at_height},
    letters::{self, Writing},
    room::{Room, bounds},
};
use crate::{
    frame::{CoverFront, Map, Point, Sheet},
    job::{ButtonNames, Fabric, MarkShape, PatternKind, Pile, PleatLines},
    layout::{Button, Fitted, Name, Part, pleats::between},
};
use std::collections::BTreeMap;

type Place = Point<CoverFront>;

/// Longest shaft of the arrow that says which way is up or which way the pile runs, mm.
const ARROW: f64 = 80.0;
/// How far a notch's line reaches in from the cut edge, mm: common practice, no source.
const NOTCH: f64 = 10.0;
/// Heights of letters that are tried, for the piece's words, for button names and within openings, mm.
const WORDS: [f64; 3] = [12.0, 9.0, 6.0];
const NAMES: [f64; 2] = [6.0, 4.0];
const IN_OPENINGS: [f64; 3] = [9.0, 6.0, 4.0];
/// Bare cloth left round a button's name and round all other words, mm.
const CLOSE: f64 = 1.0;
const CLEAR: f64 = 6.0;
/// Corners of the ring that marks a dot.
const RING: usize = 12;

/// One piece while it is drawn on.
pub struct Pen<'a> {
    pub fabric: &'a Fabric,
    pub fitted: &'a Fitted,
    pub buttons: &'a [Button],
    pub whole: &'a Whole,
    pub cut: &'a Cut,
    pub part: Part,
    pub to_back: Map<CoverFront, Sheet>,
    pub lines: Vec<Drawn>,
}

impl Pen<'_> {
    /// Marks and lines, then words where they leave room; the cut line last.
    pub fn draw_all(mut self, title: &str, marks: &[(Name, Point<Sheet>)]) -> Vec<Drawn> {
        self.centre_lines();
        self.marks(marks);
        self.edge();
        self.seams();
        self.notches();
        // A flute's groove is all there is to sew along.
        let grooves = self.fitted.kind == PatternKind::Flutes;
        if grooves || self.fabric.pleat_lines == PleatLines::Drawn {
            self.pleats();
        }
        let mut cut = self.cut.round.clone();
        cut.push(cut[0]);
        let cut_line = Drawn {
            kind: LineKind::Cut,
            points: cut.into_iter().map(|p| self.to_back.apply(p)).collect(),
        };
        self.words(title, marks, &cut_line);
        self.lines.push(cut_line);
        self.lines
    }

    fn draw(&mut self, kind: LineKind, points: &[[f64; 2]]) {
        let points = points.iter().map(|&[x, y]| self.to_back.apply(Point::new(x, y))).collect();
        self.lines.push(Drawn { kind, points });
    }

    /// Where the piece's left and right cut lines pass a height.
    fn across(&self, y: f64) -> [f64; 2] {
        [0, 1].map(|side| self.cut.cut_at(side, y, &self.whole.edges))
    }

    fn centre_lines(&mut self) {
        let CutEdges { top, bottom, .. } = self.whole.edges;
        let [left, right] = self.across(0.0);
        if left < 0.0 && right > 0.0 {
            self.draw(LineKind::Centre, &[[0.0, bottom], [0.0, top]]);
        }
        self.draw(LineKind::Centre, &[[left, 0.0], [right, 0.0]]);
    }

    fn marks(&mut self, marks: &[(Name, Point<Sheet>)]) {
        let half = self.fabric.mark.size / 2.0;
        for &(name, at) in marks {
            let kind = LineKind::Mark(name);
            match self.fabric.mark.shape {
                MarkShape::Cross => {
                    for [x, y] in [[half, 0.0], [0.0, half]] {
                        let points =
                            vec![Point::new(at.x - x, at.y - y), Point::new(at.x + x, at.y + y)];
                        self.lines.push(Drawn { kind, points });
                    }
                }
                MarkShape::Dot => {
                    let corner = |i: usize| {
                        let turn = std::f64::consts::TAU * (i % RING) as f64 / RING as f64;
                        let [x, y] = [libm::cos(turn), libm::sin(turn)];
                        Point::new(at.x + x * half, at.y + y * half)
                    };
                    self.lines.push(Drawn { kind, points: (0..=RING).map(corner).collect() });
                }
            }
        }
    }

    /// What runs along the edge of the panel, as far as it lies on this piece.
    fn edge(&mut self) {
        let along = &self.whole.along;
        let closed = |kind, line: &[Place]| {
            let again = line.first().map(|first| [line, &[*first]].concat());
            again.map(|line| (kind, line))
        };
        let mut lines: Vec<(LineKind, Vec<Place>)> = Vec::new();
        lines.extend(closed(LineKind::TurnIn, &along.turn_in));
        lines.extend(closed(LineKind::Tack, &along.tack));
        let trim = along.to_trim(&self.whole.edges);
        lines.extend(trim.into_iter().map(|line| (LineKind::Trim, line)));
        lines.extend(along.openings.iter().filter_map(|o| closed(LineKind::Opening, o)));
        for (kind, line) in lines {
            for part in clip::within(&line, &self.cut.round) {
                let points = part.into_iter().map(|p| self.to_back.apply(p)).collect();
                self.lines.push(Drawn { kind, points });
            }
        }
    }

    /// The line to sew along, a tick across the seam at each button on it, and at both ends as many
    /// ticks side by side as the join's number: what has one tick is sewn to what has one.
    fn seams(&mut self) {
        let sides = self.cut.sides.clone();
        for (side, joined) in sides.iter().enumerate() {
            let Side::Join(join) = joined else { continue };
            let at = |p: &Point<CoverFront>| [p.x, p.y];
            let line: Vec<[f64; 2]> = join.line.iter().map(at).collect();
            self.draw(LineKind::Seam, &line);
            for (sewn, cut) in join.line.iter().zip(&join.cut[side]).skip(1) {
                if sewn.y > self.whole.edges.bottom {
                    let [a, b] = [at(sewn), at(cut)];
                    self.draw(LineKind::Match, &[[(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0], b]);
                }
            }
            self.count_ticks(join, side);
        }
    }

    fn count_ticks(&mut self, join: &Join, side: usize) {
        let n = join.line.len();
        for [from, to] in [[0, 1], [n - 2, n - 1]] {
            let [end, button] = [join.line[from].y, join.line[to].y];
            let (middle, apart) = ((end + button) / 2.0, ((end - button).abs() / 20.0).min(6.0));
            for tick in 0..join.number {
                let y = middle + (tick as f64 - (join.number as f64 - 1.0) / 2.0) * apart;
                let [sewn, cut] = [&join.line, &join.cut[side]].map(|line| at_height(line, y));
                self.draw(LineKind::Match, &[[sewn, y], [cut, y]]);
            }
        }
    }

    /// Where the cloth ends, in line with each edge pleat. Published: Stephenson, Cutting and Draping.
    fn notches(&mut self) {
        let depth = NOTCH.min(if self.fabric.turn_in > 0.0 { self.fabric.turn_in } else { NOTCH });
        for &(button, at, [x, y]) in &self.whole.along.notches {
            let (button, at) = (&self.buttons[button], self.whole.edges.nearest(at));
            let to = Point::new(at.x - x * depth, at.y - y * depth);
            let here = self.cut.has(self.fitted, button) && clip::holds(&self.cut.round, to);
            // The seam's own line stands at the top and bottom of a join, the centre lines in the middle.
            let upright = y.abs() > x.abs();
            let joined = upright && self.cut.joined_at(self.fitted, button);
            let across = if upright { at.x } else { at.y };
            if here && !joined && across.abs() > HAIR {
                self.draw(LineKind::Notch, &[[at.x, at.y], [to.x, to.y]]);
            }
        }
    }

    /// Each from button to button, where no run of them is straight.
    fn pleats_one_by_one(&mut self) {
        for pleat in between(self.fitted, self.buttons) {
            let line = pleat.map(|i| [self.whole.at[i].x, self.whole.at[i].y]);
            self.draw(LineKind::Pleat, &line);
        }
    }

    /// The sides of the diamonds (or squares), each run of buttons in one stroke; those on a join are
    /// its own line.
    fn pleats(&mut self) {
        if self.fitted.all_round().is_some() {
            return self.pleats_one_by_one();
        }
        let steps: &[[i32; 2]] = match self.fitted.kind {
            PatternKind::Diamond => &[[1, 2], [1, -2]],
            PatternKind::Square => &[[2, 0], [0, 2]],
            PatternKind::Flutes => &[[0, 2]],
            PatternKind::Single => return self.pleats_one_by_one(),
        };
        let here: BTreeMap<[i32; 2], (usize, bool)> = self
            .buttons
            .iter()
            .enumerate()
            .filter(|(_, b)| self.cut.has(self.fitted, b))
            .map(|(i, b)| (b.lattice, (i, self.cut.joined_at(self.fitted, b))))
            .collect();
        let mut runs: Vec<Vec<[f64; 2]>> = Vec::new();
        for step in steps {
            let plus = |[x, y]: [i32; 2], n: i32| [x + n * step[0], y + n * step[1]];
            // A pleat stands where both its ends do, unless both are on a join.
            let pleat = |from: [i32; 2]| match (here.get(&from), here.get(&plus(from, 1))) {
                (Some((_, a)), Some((_, b))) => !(*a && *b),
                _ => false,
            };
            for &from in here.keys() {
                if !pleat(from) || pleat(plus(from, -1)) {
                    continue;
                }
                let length = (1..).find(|&n| !pleat(plus(from, n))).expect("a run ends");
                let along = (0..=length).map(|n| self.whole.at[here[&plus(from, n)].0]);
                runs.push(along.map(|p| [p.x, p.y]).collect());
            }
        }
        for run in runs {
            self.draw(LineKind::Pleat, &straightened(run));
        }
    }

    /// Which way it lies, what it is, and the buttons' names, each where it covers no mark. A word that
    /// finds no room is left out.
    fn words(&mut self, title: &str, marks: &[(Name, Point<Sheet>)], cut_line: &Drawn) {
        let mut room = Room::within(&cut_line.points);
        self.lines.iter().for_each(|line| room.take(&line.points));
        self.arrow(&mut room);
        self.openings(&mut room);
        let mut words = vec!["TOP".to_string(), "BACK OF CLOTH".to_string()];
        if self.part.of > 1 {
            let letter = piece_letter(self.part.number);
            words.push(format!("PIECE {letter}, {} OF {}", self.part.number, self.part.of));
        }
        words.push(title.to_string());
        for word in words {
            self.write_within(room.bounds(), &word, &WORDS, CLEAR, &mut room);
        }
        self.names(marks, &mut room);
    }

    /// Each opening says when it is cut.
    fn openings(&mut self, room: &mut Room) {
        for opening in &self.whole.along.openings {
            let here: Vec<Point<Sheet>> = opening
                .iter()
                .filter(|p| clip::holds(&self.cut.round, **p))
                .map(|p| self.to_back.apply(*p))
                .collect();
            if !here.is_empty() {
                self.write_within(bounds(&here), "CUT LAST", &IN_OPENINGS, CLOSE, room);
            }
        }
    }

    /// Writes a line where there is room for it, as high as goes.
    fn write_within(
        &mut self,
        bounds: [f64; 4],
        word: &str,
        heights: &[f64],
        clear: f64,
        room: &mut Room,
    ) {
        let found = heights.iter().find_map(|&height| {
            let writing = letters::write(word, height);
            let at = room.search(bounds, padded(&writing, clear))?;
            Some((writing, at))
        });
        if let Some((writing, at)) = found {
            self.write(&writing, at, clear, room);
        }
    }

    fn names(&mut self, marks: &[(Name, Point<Sheet>)], room: &mut Room) {
        let mut ends: BTreeMap<u32, [u32; 2]> = BTreeMap::new();
        for (name, _) in marks {
            let end = ends.entry(name.row()).or_insert([name.column(); 2]);
            *end = [end[0].min(name.column()), end[1].max(name.column())];
        }
        for &(name, at) in marks {
            let written = match self.fabric.names {
                ButtonNames::All => true,
                ButtonNames::RowEnds => ends[&name.row()].contains(&name.column()),
                ButtonNames::LeftOut => false,
            };
            if !written {
                continue;
            }
            let found = NAMES.into_iter().find_map(|height| {
                let writing = letters::write(&name.to_string(), height);
                let size = padded(&writing, CLOSE);
                // In the four quarters of the cross, then farther up and down.
                let gap = 1.0;
                let [w, h] = size;
                let corners = [[gap, gap], [-gap - w, gap], [gap, -gap - h], [-gap - w, -gap - h]];
                let far = self.fabric.mark.size / 2.0 + gap;
                let beside =
                    [[-w / 2.0, far], [-w / 2.0, -far - h], [far, -h / 2.0], [-far - w, -h / 2.0]];
                corners
                    .into_iter()
                    .chain(beside)
                    .map(|[x, y]| [at.x + x, at.y + y])
                    .find(|&corner| room.is_free(corner, size))
                    .map(|corner| (writing, corner))
            });
            if let Some((writing, corner)) = found {
                self.write(&writing, corner, CLOSE, room);
            }
        }
    }

    /// Writes with the lower left corner of the clear space at `corner`.
    fn write(&mut self, writing: &Writing, corner: [f64; 2], clear: f64, room: &mut Room) {
        let below = writing.height / 3.0 + clear;
        let number = self.lines.iter().filter_map(|line| match line.kind {
            LineKind::Words(number) => Some(number + 1),
            _ => None,
        });
        let kind = LineKind::Words(number.max().unwrap_or(0));
        for stroke in &writing.strokes {
            let place =
                |p: &[f64; 2]| Point::new(corner[0] + clear + p[0], corner[1] + below + p[1]);
            self.lines.push(Drawn { kind, points: stroke.iter().map(place).collect() });
        }
        room.take_box(corner, padded(writing, clear));
    }

    /// Without pile the arrow has one head and points to the top; with pile it has two and points the way
    /// the pile runs.
    fn arrow(&mut self, room: &mut Room) {
        for shaft in [ARROW, ARROW / 2.0, ARROW / 4.0] {
            let head = shaft / 5.0;
            let up = self.to_back.direction([0.0, 1.0]);
            let size =
                [[head, shaft], [shaft, head]][usize::from(up[0] != 0.0)].map(|d| d + 2.0 * CLEAR);
            let Some(corner) = room.search(room.bounds(), size) else { continue };
            let middle = [corner[0] + size[0] / 2.0, corner[1] + size[1] / 2.0];
            let (way, heads) = match self.fabric.pile {
                Pile::Down => ([-up[0], -up[1]], 2),
                Pile::None => (up, 1),
            };
            let beside = [-way[1], way[0]];
            let at = |along: f64, across: f64| {
                Point::new(
                    middle[0] + way[0] * along + beside[0] * across,
                    middle[1] + way[1] * along + beside[1] * across,
                )
            };
            let half = shaft / 2.0;
            let mut draw = |points| self.lines.push(Drawn { kind: LineKind::Arrow, points });
            draw(vec![at(-half, 0.0), at(half, 0.0)]);
            for back in 0..heads {
                let tip = half - f64::from(back) * head;
                draw(vec![at(tip - head, -head / 2.0), at(tip, 0.0), at(tip - head, head / 2.0)]);
            }
            room.take_box(corner, size);
            return;
        }
    }
}

/// `A`, `B` … from the left.
pub fn piece_letter(number: u32) -> String {
    let letter = |n: u32| char::from(b'A' + (n % 26) as u8);
    match number - 1 {
        n if n < 26 => letter(n).to_string(),
        n => format!("{}{}", letter(n / 26 - 1), letter(n)),
    }
}

/// The space a line of writing takes, with clear cloth round it.
fn padded(writing: &Writing, clear: f64) -> [f64; 2] {
    [writing.width + 2.0 * clear, writing.height * 4.0 / 3.0 + 2.0 * clear]
}

/// Without the points that lie on the straight line between their neighbours.
fn straightened(points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for p in points {
        if let [.., a, b] = kept[..] {
            let turn = (b[0] - a[0]) * (p[1] - b[1]) - (b[1] - a[1]) * (p[0] - b[0]);
            if turn.abs() < 1e-9 * ((p[0] - a[0]).abs() + (p[1] - a[1]).abs()) {
                kept.pop();
            }
        }
        kept.push(p);
    }
    kept
}
