//! Buttons give way to openings and keep-outs: left out, moved a little, or the job is refused.

use super::{Button, HAIR, Name, listed};
use crate::{
    diag::Diagnostic,
    frame::Point,
    job::{Area, AreaKind, GivesWay, Job},
    outline::{self, Corner, Outline},
    words,
};
use std::collections::BTreeMap;

/// An opening or keep-out of the panel, and what became of the buttons in its way.
#[derive(Debug, Clone)]
pub struct Cleared {
    pub kind: AreaKind,
    pub reason: String,
    /// Front frame, anticlockwise.
    pub corners: Vec<Corner>,
    pub dropped: Vec<Name>,
    /// How far each was moved, mm.
    pub moved: Vec<(Name, f64)>,
}

/// What the areas leave of the buttons.
pub(super) struct Left {
    pub buttons: Vec<Button>,
    pub dropped: Vec<Button>,
    pub areas: Vec<Cleared>,
}

/// Clears every area of the job. `edge` is the least distance from a button to the outline.
pub(super) fn clear(
    job: &Job,
    outline: &Outline,
    edge: f64,
    buttons: Vec<Button>,
) -> Result<Left, Vec<Diagnostic>> {
    let mut wrong = Vec::new();
    let mut areas: Vec<Cleared> = Vec::new();
    for area in &job.areas {
        match outline::area(area) {
            Ok(corners) => areas.push(Cleared {
                kind: area.kind,
                reason: area.reason.clone(),
                corners,
                dropped: Vec::new(),
                moved: Vec::new(),
            }),
            Err(more) => wrong.extend(more),
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    wrong.extend(openings_out_of_place(job, outline, &areas));
    // Where a button's centre must not be, area by area.
    let kept: Vec<Vec<Corner>> =
        job.areas.iter().zip(&areas).map(|(area, a)| grown(&a.corners, area.clear)).collect();
    let mut refused: Vec<Vec<Name>> = vec![Vec::new(); areas.len()];
    let inside =
        |at: Point<_>| kept.iter().position(|corners| outline::depth(corners, [at.x, at.y]) > HAIR);
    let hole = job.foam.hole.value;
    let order: BTreeMap<Name, usize> = buttons.iter().map(|b| b.name).zip(0..).collect();
    // Those that stand well come first: what moves must keep out of their holes.
    let (mut left, in_the_way): (Vec<Button>, Vec<Button>) =
        buttons.into_iter().partition(|button| inside(button.at).is_none());
    let mut dropped = Vec::new();
    for button in in_the_way {
        let i = inside(button.at).expect("it is in the way of one");
        match job.areas[i].gives_way {
            GivesWay::Dropped => {
                areas[i].dropped.push(button.name);
                dropped.push(button);
            }
            GivesWay::Refused => refused[i].push(button.name),
            GivesWay::Moved { most } => {
                let to = nearest(&kept[i], [button.at.x, button.at.y]);
                let to = Point::new(to[0], to[1]);
                let by = to.distance(button.at);
                let into_another = left.iter().any(|other: &Button| other.at.distance(to) < hole);
                let fits =
                    outline.depth(to) >= edge - HAIR && inside(to).is_none() && !into_another;
                if by > most + HAIR || !fits {
                    wrong.push(cannot_move(&job.areas[i], button.name, by, most, fits));
                    continue;
                }
                areas[i].moved.push((button.name, by));
                left.push(Button { at: to, ..button });
            }
        }
    }
    for ((area, names), Cleared { reason, .. }) in job.areas.iter().zip(refused).zip(&areas) {
        if !names.is_empty() {
            let message = format!("in the way of the {reason}: {}", listed(&names));
            wrong.push(Diagnostic::at(area.span.clone(), message).help(
                "write buttons = \"move\" or \"drop\", or choose another fit (see `bradawl layout`)",
            ));
        }
    }
    left.sort_by_key(|button| order[&button.name]);
    if wrong.is_empty() { Ok(Left { buttons: left, dropped, areas }) } else { Err(wrong) }
}

fn cannot_move(area: &Area, name: Name, by: f64, most: f64, fits: bool) -> Diagnostic {
    let far = format!(
        "button {name} would have to move {} mm to clear the {}, and {} mm is the most",
        words::decimal(by, 1),
        area.reason,
        words::decimal(most, 1)
    );
    let why = match fits {
        true => far,
        false => format!(
            "button {name} cannot clear the {} without coming too near the edge, another area or another button",
            area.reason
        ),
    };
    Diagnostic::at(area.span.clone(), why).help(
        "write buttons = \"drop\", a larger `most`, or choose another fit (see `bradawl layout`)",
    )
}

/// An opening is a hole in the panel: it lies within the outline and apart from every other.
fn openings_out_of_place(job: &Job, outline: &Outline, areas: &[Cleared]) -> Vec<Diagnostic> {
    let openings: Vec<usize> =
        (0..areas.len()).filter(|&i| areas[i].kind == AreaKind::Opening).collect();
    let mut wrong = Vec::new();
    for &i in &openings {
        let at = |message: String| Diagnostic::at(job.areas[i].span.clone(), message);
        let reason = &areas[i].reason;
        if !outline::lies_within(&areas[i].corners, outline.corners()) {
            wrong.push(
                at(format!("the opening for the {reason} does not lie wholly within the panel"))
                    .help("`at` is its middle, from the middle of the panel; what is cut from the edge belongs to the panel's shape"),
            );
        }
        let meets =
            |&&j: &&usize| j < i && !outline::lie_apart(&areas[i].corners, &areas[j].corners);
        if let Some(&j) = openings.iter().find(meets) {
            wrong.push(
                at(format!("the openings for the {} and the {reason} meet", areas[j].reason))
                    .help("make one opening of them, or move them apart"),
            );
        }
    }
    wrong
}

/// An area with a margin all round.
pub(super) fn grown(corners: &[Corner], by: f64) -> Vec<Corner> {
    match by > 0.0 {
        // A rectangle or circle grows to one way.
        true => outline::inset(corners, -by).swap_remove(0),
        false => corners.to_vec(),
    }
}

fn nearest(corners: &[Corner], place: [f64; 2]) -> [f64; 2] {
    let square = |p: [f64; 2]| {
        let [x, y] = [p[0] - place[0], p[1] - place[1]];
        x * x + y * y
    };
    let all = outline::pieces(corners).map(|piece| piece.nearest(place));
    all.min_by(|a, b| square(*a).total_cmp(&square(*b))).expect("an area has sides")
}
