//! The cover: cloth laid out anew, longer than the panel by what the pleats take up.
//!
//! With A the allowance per full diamond, the lattice on the cloth is W + A across and H + A down.
//! From an outside button to the cut edge the cloth runs over half a pleat, the edge of the panel,
//! down the side of foam, wadding and board, and round to its back:
//! edge distance + A/2 + foam + wadding + board + turn-in.

use super::{Button, Fitted, Name, Part, fit::row_gap, place_on};
use crate::{
    diag::Diagnostic,
    frame::{CoverFront, Map, Point, Sheet},
    job::{Allowance, Job, PatternKind, Pile, PleatLines},
    outline::Outline,
};

/// Length of one stroke of a mark's cross, mm: long enough to find, short enough to hide.
const CROSS: f64 = 12.0;
/// Longest shaft of the arrow that says which way is up or which way the pile runs, mm.
const ARROW: f64 = 80.0;

#[derive(Debug, Clone)]
pub struct Cover {
    /// The diamond as marked on the cloth, W_f and H_f.
    pub marked: [f64; 2],
    /// A across and down.
    pub allowance: [f64; 2],
    /// How deep a button pulls the cover down: foam - leave + wadding.
    pub depth: f64,
    /// Which allowances make sense, across and down.
    pub bounds: [Bounds; 2],
    /// Cut width and height of the whole.
    pub cut: [f64; 2],
    /// What it is joined from, left to right as it hangs.
    pub pieces: Vec<Piece>,
}

/// One piece of cloth as it lies on the plotter, back up.
#[derive(Debug, Clone)]
pub struct Piece {
    pub part: Part,
    /// Cut width and height as it lies.
    pub cut: [f64; 2],
    /// Row by row from the top left of the front.
    pub marks: Vec<(Name, Point<Sheet>)>,
    /// All that the pen draws.
    pub lines: Vec<Drawn>,
}

/// The least allowance that still reaches the button seat and the most that upright hole walls could
/// use, for a pitch P and pull-down depth d: 2·sqrt((P/2)² + d²) - P, and 2·d. Derived: the cover
/// runs straight from crown to seat at the least, down an upright wall at the most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    pub least: f64,
    pub most: f64,
}

impl Bounds {
    pub fn of(pitch: f64, depth: f64) -> Self {
        let half = pitch / 2.0;
        Bounds { least: 2.0 * (half * half + depth * depth).sqrt() - pitch, most: 2.0 * depth }
    }
}

/// One line on the back of the cloth.
#[derive(Debug, Clone)]
pub struct Drawn {
    pub kind: LineKind,
    pub points: Vec<Point<Sheet>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LineKind {
    /// Half of a button's cross.
    Cross(Name),
    Centre,
    /// Points to the top of the panel, or down the pile.
    Arrow,
    Pleat,
    /// The edge to cut along.
    Cut,
}

/// Lays the cover out. An allowance from the formula that cannot reach is refused.
pub(super) fn lay_out(
    job: &Job,
    outline: &Outline,
    fitted: &Fitted,
    buttons: &[Button],
) -> Result<Cover, Vec<Diagnostic>> {
    let depth = job.foam.thickness - job.foam.leave.value + job.wadding;
    let bounds = [Bounds::of(fitted.width, depth), Bounds::of(fitted.height, depth)];
    let allowance = allowance(job, depth, bounds)?;
    let marked = [fitted.width + allowance[0], fitted.height + allowance[1]];
    let pitch = [marked[0], row_gap(fitted.kind, marked[1])];
    let on_cover = |lattice| {
        let [x, y] = place_on(lattice, pitch);
        Point::<CoverFront>::new(x, y)
    };
    let cut = cut_edges(job, outline, buttons, allowance, &on_cover);
    let to_back: Map<CoverFront, Sheet> = Map::turn_over(Point::new(cut.right, cut.bottom));
    let marks: Vec<_> =
        buttons.iter().map(|b| (b.name, to_back.apply(on_cover(b.lattice)))).collect();
    let mut pen = Pen { to_back, lines: Vec::new() };
    pen.centre_lines(&cut);
    pen.crosses(&marks);
    pen.arrow(job.fabric.pile, &cut, buttons, &on_cover, marked[0]);
    if job.fabric.pleat_lines == PleatLines::Drawn {
        pen.pleats(fitted.kind, buttons, &on_cover);
    }
    pen.cut_line(&cut);
    Ok(Cover {
        marked,
        allowance,
        depth,
        bounds,
        cut: [cut.right - cut.left, cut.top - cut.bottom],
        pieces: vec![Piece {
            part: Part::WHOLE,
            cut: [cut.right - cut.left, cut.top - cut.bottom],
            marks,
            lines: pen.lines,
        }],
    })
}

fn allowance(job: &Job, depth: f64, bounds: [Bounds; 2]) -> Result<[f64; 2], Vec<Diagnostic>> {
    let least = bounds[0].least.max(bounds[1].least);
    let short = |span: &std::ops::Range<usize>, allowance: f64| {
        Diagnostic::at(
            span.clone(),
            format!(
                "an allowance of {allowance:.1} mm would not reach the button seat, {depth:.1} mm down: it takes {least:.1} mm"
            ),
        )
    };
    match &job.fabric.allowance {
        // Short of the least is a warning only: the tape knows more than the formula.
        Allowance::Measured { across, down } => Ok([across.value, down.value]),
        Allowance::Depth { factor } => {
            let allowance = factor.value * depth;
            if allowance >= least {
                return Ok([allowance; 2]);
            }
            let enough = (least / depth * 100.0).ceil() / 100.0;
            let help =
                format!("write factor = {enough} or more, or measure it with a tape in a hole");
            Err(vec![short(&factor.span, allowance).help(help)])
        }
        Allowance::Hole { radius, seat } => {
            let allowance = hole_allowance(*radius, seat.value);
            if allowance >= least {
                return Ok([allowance; 2]);
            }
            Err(vec![
                short(&seat.span, allowance)
                    .help("measure how far below the rim the button sits, or use a tape in a hole"),
            ])
        }
    }
}

/// The allowance for a hole of radius r whose button sits p below its rim, straight to the rim and flat
/// across: 2·(sqrt(r² + p²) - r). Derived.
pub fn hole_allowance(radius: f64, seat: f64) -> f64 {
    2.0 * ((radius * radius + seat * seat).sqrt() - radius)
}

/// The cut rectangle around the lattice.
struct CutEdges {
    left: f64,
    right: f64,
    bottom: f64,
    top: f64,
}

fn cut_edges(
    job: &Job,
    outline: &Outline,
    buttons: &[Button],
    allowance: [f64; 2],
    on_cover: &impl Fn([i32; 2]) -> Point<CoverFront>,
) -> CutEdges {
    let round_the_edge =
        job.foam.thickness + job.wadding + job.board.thickness + job.fabric.turn_in;
    let half = [outline.width() / 2.0, outline.height() / 2.0];
    let reach = |button: &Button, side: [f64; 2]| {
        let at = on_cover(button.lattice);
        let along = |p: [f64; 2]| p[0] * side[0] + p[1] * side[1];
        let to_outline =
            along([half[0] * side[0], half[1] * side[1]]) - along([button.at.x, button.at.y]);
        let pleat = along([allowance[0] * side[0], allowance[1] * side[1]]) / 2.0;
        along([at.x, at.y]) + to_outline + pleat + round_the_edge
    };
    // The outside button of each side is the one that stands farthest out.
    let farthest = |side: [f64; 2]| {
        let out = |b: &&Button| {
            i64::from(b.lattice[0]) * side[0] as i64 + i64::from(b.lattice[1]) * side[1] as i64
        };
        let outside = buttons.iter().max_by_key(out).expect("a layout has buttons");
        reach(outside, side)
    };
    CutEdges {
        left: -farthest([-1.0, 0.0]),
        right: farthest([1.0, 0.0]),
        bottom: -farthest([0.0, -1.0]),
        top: farthest([0.0, 1.0]),
    }
}

/// Draws on the front of the cover and turns each line over as it goes.
struct Pen {
    to_back: Map<CoverFront, Sheet>,
    lines: Vec<Drawn>,
}

impl Pen {
    fn draw(&mut self, kind: LineKind, points: &[[f64; 2]]) {
        let points = points.iter().map(|&[x, y]| self.to_back.apply(Point::new(x, y))).collect();
        self.lines.push(Drawn { kind, points });
    }

    fn centre_lines(&mut self, cut: &CutEdges) {
        self.draw(LineKind::Centre, &[[0.0, cut.bottom], [0.0, cut.top]]);
        self.draw(LineKind::Centre, &[[cut.left, 0.0], [cut.right, 0.0]]);
    }

    fn crosses(&mut self, marks: &[(Name, Point<Sheet>)]) {
        for &(name, at) in marks {
            for [x, y] in [[CROSS / 2.0, 0.0], [0.0, CROSS / 2.0]] {
                let points = vec![Point::new(at.x - x, at.y - y), Point::new(at.x + x, at.y + y)];
                self.lines.push(Drawn { kind: LineKind::Cross(name), points });
            }
        }
    }

    /// In the margin above the top row, beside the centre line. Without pile it has one head and points
    /// to the top; with pile it has two and points the way the pile runs.
    fn arrow(
        &mut self,
        pile: Pile,
        cut: &CutEdges,
        buttons: &[Button],
        on_cover: &impl Fn([i32; 2]) -> Point<CoverFront>,
        pitch: f64,
    ) {
        let highest =
            buttons.iter().map(|b| on_cover(b.lattice).y).fold(f64::NEG_INFINITY, f64::max);
        let margin = cut.top - highest;
        let length = ARROW.min(margin * 0.5);
        let head = length / 5.0;
        let x = pitch / 4.0;
        let (tail, up) = match pile {
            Pile::Down => (cut.top - margin * 0.2, -1.0),
            Pile::None => (cut.top - margin * 0.2 - length, 1.0),
        };
        let tip = tail + up * length;
        self.draw(LineKind::Arrow, &[[x, tail], [x, tip]]);
        let heads: &[f64] = match pile {
            Pile::Down => &[0.0, 1.0],
            Pile::None => &[0.0],
        };
        for back in heads {
            let y = tip - up * back * head;
            let barb = y - up * head;
            self.draw(LineKind::Arrow, &[[x - head / 2.0, barb], [x, y], [x + head / 2.0, barb]]);
        }
    }

    /// The sides of the diamonds (or squares), each run of buttons in one stroke.
    fn pleats(
        &mut self,
        kind: PatternKind,
        buttons: &[Button],
        on_cover: &impl Fn([i32; 2]) -> Point<CoverFront>,
    ) {
        let steps = match kind {
            PatternKind::Diamond => [[1, 1], [1, -1]],
            PatternKind::Square => [[2, 0], [0, 2]],
        };
        let mut there: Vec<[i32; 2]> = buttons.iter().map(|b| b.lattice).collect();
        there.sort_unstable();
        let stands = |at: [i32; 2]| there.binary_search(&at).is_ok();
        for step in steps {
            for button in buttons {
                let from = button.lattice;
                if stands([from[0] - step[0], from[1] - step[1]]) {
                    continue;
                }
                let mut to = from;
                while stands([to[0] + step[0], to[1] + step[1]]) {
                    to = [to[0] + step[0], to[1] + step[1]];
                }
                if to != from {
                    let [a, b] = [on_cover(from), on_cover(to)];
                    self.draw(LineKind::Pleat, &[[a.x, a.y], [b.x, b.y]]);
                }
            }
        }
    }

    fn cut_line(&mut self, cut: &CutEdges) {
        let CutEdges { left, right, bottom, top } = *cut;
        self.draw(
            LineKind::Cut,
            &[[left, bottom], [right, bottom], [right, top], [left, top], [left, bottom]],
        );
    }
}
