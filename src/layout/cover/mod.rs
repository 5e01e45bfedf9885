//! The cover: cloth laid out anew, longer than the panel by what the pleats take up.
//!
//! With A the allowance per full diamond, the lattice on the cloth is W + A across and H + A down.
//! From an outside button to the cut edge the cloth runs over the edge's fullness (half a pleat
//! unless the job says otherwise), the edge of the panel, down the side of foam, wadding and board, and
//! round to its back: edge distance + A/2 + foam + wadding + board + turn-in.

mod allowance;
mod clip;
mod cut_edges;
mod edge;
mod joins;
mod measured;
pub(in crate::layout) mod letters;
mod pen;
mod rays;
mod repeat;
mod roll;
pub(in crate::layout) mod room;
mod spread;

pub use allowance::{Bounds, Methods, PerRow, hole_allowance, reach};
pub(super) use measured::Tightest;
pub use pen::piece_letter;
pub use repeat::Drift;
pub(super) use repeat::{matched, refuse_unmatched};
use roll::RollPiece;
pub use roll::{Drop, Laid, RollPlan};
pub use spread::Strain;

use super::{Button, EdgePleat, Fitted, HAIR, Name, Part};
use crate::{
    diag::Diagnostic,
    frame::{CoverFront, Map, Point, Sheet},
    job::{Allowance, Hand, Job, MOST_STRETCH, PatternKind, Pile, Turned},
    outline::{Corner, Outline},
};
use cut_edges::CutEdges;
use edge::EdgeLines;
use joins::Cut;
use pen::Pen;
use spread::{Spread, Wanted};

/// Motifs this far apart lie equally high, mm.
const SAME_HEIGHT: f64 = 0.01;

#[derive(Debug, Clone)]
pub struct Cover {
    /// The diamond as marked on the cloth, W_f and H_f; the mean where rows differ.
    pub marked: [f64; 2],
    /// A across and down; the mean where rows differ.
    pub allowance: [f64; 2],
    /// The same, row by row.
    pub per_row: PerRow,
    /// How deep a button pulls the cover down: foam - leave + wadding.
    pub depth: f64,
    /// The least and the most allowance, across and down.
    pub ends: [[f64; 2]; 2],
    /// Which allowances make sense, across and down.
    pub bounds: [Bounds; 2],
    /// Between which of a fan's buttons the cover is nearest to being too short, across and down.
    pub tightest: [Option<Tightest>; 2],
    /// How deep the marks can everywhere be pulled down across, down, and along a pleat.
    pub reach: [f64; 3],
    /// What each way of finding the allowance gives.
    pub methods: Methods,
    /// Where the cloth does not get what it wants, worst first; empty for regular work.
    pub strained: Vec<Strain>,
    /// Cut width and height of the whole.
    pub cut: [f64; 2],
    /// What it is joined from, left to right as it hangs.
    pub pieces: Vec<Piece>,
    pub roll: RollPlan,
    /// The same pieces, as they are laid on the roll.
    on_roll: Vec<RollPiece>,
    /// Length of roll, mm, if the cover were turned sideways; where that saves cloth and there is no pile.
    pub sideways: Option<f64>,
    /// The button that drifts farthest off the cloth's repeat, if any does.
    pub drift: Option<Drift>,
}

/// One piece of cloth as it lies on the plotter, back up.
#[derive(Debug, Clone)]
pub struct Piece {
    pub part: Part,
    /// Cut width and height as it lies.
    pub cut: [f64; 2],
    /// The line it is cut along, once round, closed.
    pub outline: Vec<Point<Sheet>>,
    /// Row by row from the top left of the front; a button on a join is marked on both its pieces.
    pub marks: Vec<(Name, Point<Sheet>)>,
    /// All that the pen draws.
    pub lines: Vec<Drawn>,
}

/// One line on the back of the cloth.
#[derive(Debug, Clone)]
pub struct Drawn {
    pub kind: LineKind,
    pub points: Vec<Point<Sheet>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LineKind {
    /// A button's mark, or half of its cross.
    Mark(Name),
    Centre,
    /// Points to the top of the panel, or down the pile.
    Arrow,
    Pleat,
    /// Where two pieces are sewn together.
    Seam,
    /// A tick across a seam: ticks of both pieces are laid together.
    Match,
    /// Where the cloth turns round the back edge of the board.
    TurnIn,
    /// Where it is tacked behind.
    Tack,
    /// Where what follows the panel's shape is trimmed after buttoning.
    Trim,
    /// In line with an outside button, where its edge pleat leaves.
    Notch,
    /// The edge of an opening, to be cut when the buttons hold the cloth.
    Opening,
    /// Part of a letter; letters with one number are one line of writing.
    Words(u32),
    /// The edge to cut along.
    Cut,
}

/// What of the panel a cover is laid out for.
#[derive(Clone, Copy)]
pub(super) struct Panel<'a> {
    pub outline: &'a Outline,
    pub fitted: &'a Fitted,
    pub buttons: &'a [Button],
    pub edge_pleats: &'a [EdgePleat],
    pub openings: &'a [Vec<Corner>],
}

/// The whole cover on its front: where its buttons lie and where it ends.
pub(in crate::layout) struct Whole {
    /// In the order of the buttons.
    at: Vec<Point<CoverFront>>,
    edges: CutEdges,
    along: EdgeLines,
    marked: [f64; 2],
}

/// Lays the cover out. An allowance from the formula that cannot reach is refused, and so is work that
/// cannot lie flat or cannot be cut from the roll.
pub(super) fn lay_out(job: &Job, panel: &Panel) -> Result<Cover, Vec<Diagnostic>> {
    let Panel { fitted, buttons, .. } = *panel;
    let depth = allowance::pull_down(job);
    let bounds = match fitted.kind {
        // Down its groove the cloth of a flute lies as long as the panel.
        PatternKind::Flutes => [Bounds::of(fitted.width, depth), Bounds::NONE],
        _ => [Bounds::of(fitted.narrowest(), depth), Bounds::of(fitted.height, depth)],
    };
    let per_row = allowance::per_row(job, fitted, bounds)?;
    let figures = per_row.figures();
    let wanted = Wanted { fitted, allowance: &per_row, stretch: job.fabric.stretch };
    let Spread { at, strained } = spread::spread(buttons, &wanted);
    refuse_strained(job, &strained)?;
    let marked = [
        wanted.stretched(0, fitted.width + figures[0]),
        wanted.stretched(1, fitted.height + figures[1]),
    ];
    let edges = cut_edges::cut_edges(job, panel, &wanted, &at);
    let along = edge::lines(job, panel, &wanted, &at, &edges);
    // On a fan what a button asks for straight aside leads past the edge.
    let edges = match fitted.fan {
        Some(rays) if rays.all_round || !panel.outline.is_rectangle() => {
            CutEdges::around(&along.trim)
        }
        _ => edges.holding(&along.trim),
    };
    let whole = Whole { at, edges, along, marked };
    let ways = joins::cuts(job, fitted, buttons, &whole)?;
    let (cuts, roll) = ways
        .into_iter()
        .map(|cuts| {
            let piece = |cut: Cut| {
                let motif = repeat::motif(job, fitted, &whole, &cut);
                RollPiece { cut, edges, motif }
            };
            let cuts: Vec<RollPiece> = cuts.into_iter().map(piece).collect();
            let roll = roll::lay(&job.fabric, &cuts, job.quantity);
            (cuts, roll)
        })
        // The first of those that take least cloth has the widest piece in the middle.
        .reduce(|best, next| if next.1.length < best.1.length { next } else { best })
        .expect("there is a way to cut, or it was refused");
    let of = cuts.len() as u32;
    let pieces = cuts
        .iter()
        .zip(1..)
        .map(|(on_roll, number)| piece(job, panel, &whole, &on_roll.cut, Part { number, of }));
    let pieces = pieces.collect();
    // What holds everywhere.
    let pitch = [fitted.width, fitted.height];
    let mut ends = per_row.ends();
    let longest = [0, 1].map(|axis| pitch[axis] + ends[axis][0]);
    let pleat = |[w, h]: [f64; 2]| (w * w + h * h).sqrt() / 2.0;
    let mut reach = [
        reach(pitch[0], longest[0]),
        reach(pitch[1], longest[1]),
        reach(pleat(pitch), pleat(longest)),
    ];
    let (mut bounds, mut tightest) = (bounds, [None; 2]);
    if fitted.fan.is_some() {
        let ways = measured::measured(&wanted, buttons, &whole.at, depth);
        for (way, measured) in ways.into_iter().enumerate() {
            let Some(measured) = measured else { continue };
            reach[way] = measured.reach;
            if way < 2 {
                ends[way] = measured.ends;
                bounds[way] = measured.bounds;
                tightest[way] = Some(measured.tightest);
            }
        }
    }
    Ok(Cover {
        marked,
        allowance: figures,
        depth,
        ends,
        bounds,
        tightest,
        reach,
        methods: allowance::methods(job),
        per_row,
        strained,
        cut: edges.size(),
        pieces,
        on_roll: cuts,
        sideways: sideways(job, &edges, &roll),
        drift: repeat::drift(job, fitted, buttons, &whole),
        roll,
    })
}

/// Both hands of a pair, cut off one roll.
#[derive(Debug, Clone)]
pub struct Pair {
    pub roll: RollPlan,
    /// The pieces that it lays: the left hand's, then the right hand's.
    pub pieces: Vec<(Hand, Piece)>,
    /// How much less is to be bought than for each hand by itself, mm; never negative.
    pub saves: f64,
}

/// Lays the covers of the two hands of a pair side by side; nothing where their motifs would not lie equally high.
pub(super) fn pair(job: &Job, [left, right]: [&Cover; 2]) -> Option<Pair> {
    let on_roll = [left.on_roll.clone(), right.on_roll.clone()].concat();
    if let Some(repeat) = &job.fabric.repeat {
        let height = |piece: &RollPiece| piece.motif.map_or(0.0, |motif| motif[1]);
        let off = |piece: &RollPiece| {
            let apart = (height(piece) - height(&on_roll[0])) / repeat.down.value;
            (apart - apart.round()).abs() * repeat.down.value
        };
        if on_roll.iter().any(|piece| off(piece) > SAME_HEIGHT) {
            return None;
        }
    }
    let roll = roll::lay(&job.fabric, &on_roll, job.quantity);
    let apart = left.roll.to_buy() + right.roll.to_buy();
    let fewer = roll.drops.len() < left.roll.drops.len() + right.roll.drops.len();
    // What two sums round differently is no cloth.
    let saves = if fewer { (apart - roll.to_buy()).max(0.0) } else { 0.0 };
    let of = |hand: Hand, cover: &Cover| -> Vec<(Hand, Piece)> {
        cover.pieces.iter().map(|piece| (hand, piece.clone())).collect()
    };
    let pieces = [of(Hand::Left, left), of(Hand::Right, right)].concat();
    Some(Pair { roll, pieces, saves })
}

fn piece(job: &Job, panel: &Panel, whole: &Whole, cut: &Cut, part: Part) -> Piece {
    let Panel { fitted, buttons, .. } = *panel;
    let to_back = to_back(job, cut);
    let marks: Vec<(Name, Point<Sheet>)> = buttons
        .iter()
        .zip(&whole.at)
        .filter(|(button, _)| cut.has(fitted, button))
        .map(|(button, at)| (button.name, to_back.apply(*at)))
        .collect();
    let pen =
        Pen { fabric: &job.fabric, fitted, buttons, whole, cut, part, to_back, lines: Vec::new() };
    Piece {
        part,
        cut: cut.lying(job.fabric.turned.value),
        outline: cut.round.iter().chain([&cut.round[0]]).map(|p| to_back.apply(*p)).collect(),
        lines: pen.draw_all(&job.title, &marks),
        marks,
    }
}

/// Lays a piece back up on the plotter.
fn to_back(job: &Job, cut: &Cut) -> Map<CoverFront, Sheet> {
    let [left, bottom, right, _] = cut.bounds();
    match job.fabric.turned.value {
        Turned::Upright => Map::turn_over(Point::new(right, bottom)),
        Turned::Sideways => Map::turn_over_sideways(Point::new(left, bottom)),
    }
}

fn refuse_strained(job: &Job, strained: &[Strain]) -> Result<(), Vec<Diagnostic>> {
    let ease = job.fabric.ease;
    let Some(worst) = strained.first().filter(|worst| worst.per_cent().abs() > ease) else {
        return Ok(());
    };
    let place = match &job.fabric.allowance {
        Allowance::Measured { across, .. } if across.value.len() > 1 => &across.span,
        Allowance::Measured { down, .. } if down.value.len() > 1 => &down.span,
        _ => &job.pattern.place.span,
    };
    let over = strained.iter().filter(|s| s.per_cent().abs() > ease).count();
    let needed = (worst.per_cent().abs() * 10.0).ceil() / 10.0;
    Err(vec![
        Diagnostic::at(
            place.clone(),
            format!(
                "the cover cannot lie flat: from {} to {} the cloth wants {:.1} mm and gets {:.1} mm, {:.1} % too {}, and `ease` is {ease} % ({over} such places)",
                worst.from,
                worst.to,
                worst.wanted,
                worst.found,
                worst.per_cent().abs(),
                if worst.per_cent() > 0.0 { "little" } else { "much" }
            ),
        )
        .help(match needed <= MOST_STRETCH {
            true => format!(
                "make neighbouring rows more alike, or write ease = {needed} in [fabric] if the cloth gives that much"
            ),
            false => "make neighbouring rows more alike: no cover cloth gives that much".to_string(),
        }),
    ])
}

/// The length of roll if every cover lay sideways, where that is allowed and less.
fn sideways(job: &Job, edges: &CutEdges, upright: &RollPlan) -> Option<f64> {
    let fabric = &job.fabric;
    let [width, height] = edges.size();
    let free = fabric.pile == Pile::None
        && fabric.turned.value == Turned::Upright
        && fabric.repeat.is_none();
    let side_by_side = (fabric.roll_width.value / height).floor();
    if !free || side_by_side < 1.0 {
        return None;
    }
    let length = (f64::from(job.quantity) / side_by_side).ceil() * width;
    (length < upright.length - 1.0).then(|| roll::whole_centimetres(length))
}
