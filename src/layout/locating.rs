//! Holes of the board for dowels and nothing else, where the job allows them.

use super::{Button, Name, OtherHole};
use crate::{
    diag::Diagnostic,
    frame::{Map, PanelFront, Point, Sheet},
    job::Job,
    outline::{self, Corner, Outline},
    words::decimal,
};

/// Wood that is left between a hole for a dowel and an edge or another hole, mm; common practice, no source.
const WOOD: f64 = 5.0;

/// Where the board may have holes for dowels; a program makes those that it needs.
#[derive(Debug, Clone)]
pub struct Locating {
    pub hole: f64,
    /// As it lies, named `L1`, `L2` … in the order of the job.
    pub places: Vec<(Name, Point<Sheet>)>,
    /// The same on the panel.
    pub on_panel: Vec<Point<PanelFront>>,
}

impl Locating {
    /// The name of one, counted from nought.
    fn name(i: usize) -> Name {
        Name::own(&format!("L{}", i + 1)).expect("a letter and a few figures")
    }
}

/// Lays the places out, and refuses those that are not in sound wood; `others` are the board's other holes.
pub(super) fn lay_out(
    job: &Job,
    outline: &Outline,
    openings: &[Vec<Corner>],
    buttons: &[Button],
    others: &[OtherHole],
    to_sheet: &Map<PanelFront, Sheet>,
) -> Result<Option<Locating>, Vec<Diagnostic>> {
    let Some(wanted) = &job.board.locating else { return Ok(None) };
    let hole = wanted.hole;
    let on_panel: Vec<Point<PanelFront>> =
        wanted.at.iter().map(|at| Point::new(at.value[0], at.value[1])).collect();
    let mut wrong = Vec::new();
    for (i, (&at, given)) in on_panel.iter().zip(&wanted.at).enumerate() {
        let wood = hole / 2.0 + WOOD;
        let beside = |other: Point<PanelFront>, diameter: f64| {
            at.distance(other) < (hole + diameter) / 2.0 + WOOD
        };
        let twine = buttons.iter().find(|button| beside(button.at, job.board.hole.value));
        let fixing = others
            .iter()
            .find(|other| beside(Point::new(other.on_panel[0], other.on_panel[1]), other.diameter));
        let near = if outline.depth(at) < wood {
            Some("the panel's edge".to_string())
        } else if openings.iter().any(|o| outline::depth(o, [at.x, at.y]) > -wood) {
            Some("an opening".to_string())
        } else if let Some(button) = twine {
            Some(format!("the hole of button {}", button.name))
        } else if let Some(fixing) = fixing {
            Some(format!("the hole for the {}", fixing.reason))
        } else {
            let other = on_panel[..i].iter().position(|&other| beside(other, hole));
            other.map(|other| format!("hole {}", Locating::name(other)))
        };
        if let Some(near) = near {
            wrong.push(
                Diagnostic::at(
                    given.span.clone(),
                    format!("the hole for a dowel at [{}, {}] is too near to {near}", at.x, at.y),
                )
                .help(format!(
                    "leave at least {} mm of wood round it, and write its place from the middle of the panel, [right, up]",
                    decimal(WOOD, 1)
                )),
            );
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let places = on_panel.iter().enumerate();
    let places = places.map(|(i, at)| (Locating::name(i), to_sheet.apply(*at))).collect();
    Ok(Some(Locating { hole, places, on_panel }))
}
