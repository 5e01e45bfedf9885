//! `[[opening]]` and `[[keep_out]]`: places of the panel where no button may stand.

use crate::{
    diag::Given,
    form::{Form, Within},
};
use std::ops::Range;

/// An upright rectangle or a circle of the panel, with its reason.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    pub kind: AreaKind,
    /// What is there: a socket, a bolt, a batten behind.
    pub reason: String,
    /// Its middle, from the middle of the panel, X right, Y up, seen from the front.
    pub at: [f64; 2],
    pub size: AreaSize,
    /// From its edge to the nearest button's centre.
    pub clear: f64,
    pub gives_way: GivesWay,
    pub span: Range<usize>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AreaKind {
    /// Cut through board, foam and cover.
    Opening,
    /// Nothing is cut; no button stands within.
    KeepOut,
}

#[derive(Debug, Clone, PartialEq)]
pub enum AreaSize {
    Rectangle { width: f64, height: f64, radius: Given<f64> },
    Circle { diameter: f64 },
}

/// What becomes of a button that stands in the way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GivesWay {
    /// It is left out.
    Dropped,
    /// It goes aside, at most so far.
    Moved { most: f64 },
    /// The job is refused.
    Refused,
}

/// A button is moved this far at most unless said otherwise, mm: common practice, no source.
const A_LITTLE: f64 = 20.0;
/// Cloth left between an opening and the button's hole, mm: common practice, no source.
const CLOTH: f64 = 10.0;

/// All areas of a job; `holes` are the diameters of board and foam holes.
pub(super) fn read(f: &mut Form, [board_hole, foam_hole]: [f64; 2]) -> Vec<Area> {
    let opening = foam_hole / 2.0 + CLOTH;
    let mut areas = f.tables("opening", |f| area(f, AreaKind::Opening, opening));
    areas.extend(f.tables("keep_out", |f| area(f, AreaKind::KeepOut, board_hole / 2.0)));
    areas
}

fn area(f: &mut Form, kind: AreaKind, clear: f64) -> Option<Area> {
    let reason = f.text("reason").value;
    let at = f.place("at").value;
    let size = match f.length_if("diameter", Within::Positive) {
        Some(diameter) => AreaSize::Circle { diameter: diameter.value },
        None => AreaSize::Rectangle {
            width: f.length("width", Within::Positive).value,
            height: f.length("height", Within::Positive).value,
            radius: f.length_or("radius", Within::NotNegative, 0.0),
        },
    };
    let clear = f.length_or("clear", Within::NotNegative, clear).value;
    let most = f.length_or("most", Within::Positive, A_LITTLE).value;
    let ways = [
        ("drop", GivesWay::Dropped),
        ("move", GivesWay::Moved { most }),
        ("refuse", GivesWay::Refused),
    ];
    let gives_way = f.choice_or_first("buttons", &ways).value;
    Some(Area { kind, reason, at, size, clear, gives_way, span: f.span() })
}
