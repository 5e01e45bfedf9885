//! How many buttons, and how large a diamond: the fit of a pattern to a panel.
//!
//! A long row has n buttons, a short row n - 1, half a diamond in. W is button to button along a row,
//! H a diamond's top to its bottom button, so rows stand H/2 apart; in a square pattern they stand H apart.

use super::fan::{self, Rays};
use crate::{
    diag::Diagnostic,
    job::{Axis, Edge, Fit, Job, Pattern, PatternKind, Row},
    outline::Outline,
};

/// More buttons than anybody would sew on one panel: a unit has slipped.
pub(super) const MOST_BUTTONS: f64 = 100_000.0;
/// Slack for counts that come out whole on paper and a hair off in binary.
const HAIR: f64 = 1e-9;

/// The fit found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    pub kind: PatternKind,
    pub top_row: Row,
    /// W, mm.
    pub width: f64,
    /// H, mm.
    pub height: f64,
    /// Buttons in a long row.
    pub across: u32,
    pub rows: u32,
    /// Height of the button field's middle above the middle of the panel.
    pub middle: f64,
    /// Where rows radiate; W and H are then those of the middle row.
    pub fan: Option<Rays>,
}

impl Fitted {
    pub fn row_gap(&self) -> f64 {
        row_gap(self.kind, self.height)
    }

    /// The rays of a fan that goes all the way round.
    pub fn all_round(&self) -> Option<&Rays> {
        self.fan.as_ref().filter(|rays| rays.all_round)
    }

    /// Button to button along the row where that is least.
    pub fn narrowest(&self) -> f64 {
        self.fan.as_ref().map_or(self.width, |rays| rays.pitch(rays.inner))
    }

    /// Buttons of the whole pattern, before any is dropped.
    pub fn count(&self) -> u32 {
        let (rows, n) = (self.rows, self.across);
        if let Some(rays) = self.all_round() {
            return rows * n + u32::from(rays.centre_button);
        }
        let short = match (self.kind, self.top_row) {
            (PatternKind::Square | PatternKind::Flutes | PatternKind::Single, _) => 0,
            (PatternKind::Diamond, Row::Long) => rows / 2,
            (PatternKind::Diamond, Row::Short) => rows.div_ceil(2),
        };
        rows * n - short
    }
}

/// Distance between rows for a diamond (or bay) of height `height`.
pub fn row_gap(kind: PatternKind, height: f64) -> f64 {
    match kind {
        PatternKind::Diamond => height / 2.0,
        PatternKind::Square | PatternKind::Flutes | PatternKind::Single => height,
    }
}

/// Fits a pattern to the outline's bounding box. All that makes no sense comes back at once.
pub fn fit(pattern: &Pattern, outline: &Outline) -> Result<Fitted, Vec<Diagnostic>> {
    if let Some(asked) = &pattern.fan {
        return fan::fit(pattern, asked, outline);
    }
    let panel = [outline.width(), outline.height()];
    let field = field(pattern, panel);
    let mut wrong = too_large(pattern, panel);
    if wrong.is_empty() {
        wrong = no_room(pattern, field);
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let gaps_per_height = match pattern.kind {
        PatternKind::Diamond => 2.0,
        PatternKind::Square | PatternKind::Flutes | PatternKind::Single => 1.0,
    };
    let columns = spaces(pattern.fit, &pattern.across, field[0], 1.0);
    let gaps = spaces(pattern.fit, &pattern.down, field[1], gaps_per_height);
    if columns * gaps > MOST_BUTTONS {
        return Err(vec![
            Diagnostic::at(
                pattern.place.span.clone(),
                format!("this pattern has {:.0} buttons, which cannot be meant", columns * gaps),
            )
            .help("write larger diamonds, or check the unit"),
        ]);
    }
    Ok(fitted(pattern, field, [columns, gaps]))
}

/// The room between the edges. An exact field stands in the middle of the panel, so there the larger
/// of top and bottom counts on both sides.
fn field(pattern: &Pattern, panel: [f64; 2]) -> [f64; 2] {
    let Edge { sides, top, bottom } = pattern.edge.value;
    let upright = match pattern.fit {
        Fit::Whole => top + bottom,
        Fit::Exact => 2.0 * top.max(bottom),
    };
    [panel[0] - 2.0 * sides, panel[1] - upright]
}

fn fitted(pattern: &Pattern, field: [f64; 2], [columns, gaps]: [f64; 2]) -> Fitted {
    let Edge { top, bottom, .. } = pattern.edge.value;
    let per_gap = row_gap(pattern.kind, 1.0);
    let (width, height, middle) = match pattern.fit {
        Fit::Whole => {
            // Top and bottom edges as given, so the field's middle need not be the panel's.
            let middle = (bottom - top) / 2.0;
            (field[0] / columns, field[1] / gaps / per_gap, middle)
        }
        Fit::Exact => (asked(&pattern.across), asked(&pattern.down), 0.0),
    };
    Fitted {
        kind: pattern.kind,
        top_row: pattern.top_row,
        width,
        height,
        across: columns as u32 + 1,
        rows: gaps as u32 + 1,
        middle,
        fan: None,
    }
}

fn asked(axis: &Axis) -> f64 {
    axis.size.as_ref().expect("the reader requires a size for an exact fit").value
}

/// Whole spaces between outside buttons along one axis. Halves round up.
fn spaces(fit: Fit, axis: &Axis, room: f64, per_size: f64) -> f64 {
    if let Some(count) = &axis.count {
        return f64::from(count.value - 1);
    }
    let across = room * per_size / asked(axis);
    match fit {
        Fit::Whole => (across + 0.5 + HAIR).floor().max(1.0),
        Fit::Exact => (across + HAIR).floor(),
    }
}

fn too_large(pattern: &Pattern, panel: [f64; 2]) -> Vec<Diagnostic> {
    let axes = [(&pattern.across, panel[0], "wide"), (&pattern.down, panel[1], "high")];
    let shape = shape_word(pattern.kind);
    let larger = axes.into_iter().filter_map(|(axis, room, way)| {
        let size = axis.size.as_ref().filter(|size| size.value > room)?;
        Some(
            Diagnostic::at(
                size.span.clone(),
                format!(
                    "a {shape} {} mm {way} is larger than the panel, which is {} mm {way}",
                    plain(size.value),
                    plain(room)
                ),
            )
            .help(format!("write a {shape} that fits at least once between the edges")),
        )
    });
    larger.collect()
}

fn no_room(pattern: &Pattern, field: [f64; 2]) -> Vec<Diagnostic> {
    let axes = [(&pattern.across, field[0], "across"), (&pattern.down, field[1], "down")];
    let shape = shape_word(pattern.kind);
    let tight = axes.into_iter().filter_map(|(axis, room, way)| {
        let one_row = axis.count.as_ref().is_some_and(|count| count.value == 1);
        let needed = match (pattern.fit, axis.count.is_some(), one_row) {
            (_, _, true) | (Fit::Whole, _, _) => 0.0,
            (Fit::Exact, true, _) => 0.0,
            (Fit::Exact, false, _) if way == "down" => row_gap(pattern.kind, asked(axis)),
            (Fit::Exact, false, _) => asked(axis),
        };
        let fits = room > 0.0 && room >= needed - HAIR;
        (!fits).then(|| {
            Diagnostic::at(
                pattern.edge.span.clone(),
                format!(
                    "the edges leave {} mm {way}, which is no room for a {shape}",
                    plain(room.max(0.0))
                ),
            )
            .help("make `edge` smaller, or the panel larger")
        })
    });
    tight.collect()
}

/// The word for one cell of the pattern.
pub fn shape_word(kind: PatternKind) -> &'static str {
    match kind {
        PatternKind::Diamond => "diamond",
        PatternKind::Square => "square",
        PatternKind::Flutes => "flute",
        PatternKind::Single => "bay",
    }
}

/// A length without needless decimals.
fn plain(mm: f64) -> f64 {
    (mm * 10.0).round() / 10.0
}

/// One whole fit, for a person to choose from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    pub fitted: Fitted,
    /// How far the cell is from the one asked for: by what share the larger exceeds the smaller, both ways added.
    pub distance: f64,
}

/// The whole fits nearest to the size asked for, nearest first.
pub fn choices(job: &Job, outline: &Outline, found: &Fitted, most: usize) -> Vec<Choice> {
    if job.pattern.kind == PatternKind::Single {
        return Vec::new();
    }
    if job.pattern.fan.is_some() {
        return fan::choices(job, outline, found, most);
    }
    let whole = Pattern { fit: Fit::Whole, ..job.pattern.clone() };
    let panel = [outline.width(), outline.height()];
    let field = field(&whole, panel);
    if field[0] <= 0.0 || field[1] <= 0.0 {
        return Vec::new();
    }
    let wanted = [
        whole.across.size.as_ref().map_or(found.width, |size| size.value),
        whole.down.size.as_ref().map_or(found.height, |size| size.value),
    ];
    let mut choices: Vec<Choice> = around(found.across)
        .flat_map(|across| {
            // The ties of a groove change nothing else.
            let rows = match found.kind {
                PatternKind::Flutes => found.rows..=found.rows,
                _ => around(found.rows),
            };
            rows.map(move |rows| [f64::from(across - 1), f64::from(rows - 1)])
        })
        .map(|spaces| {
            let fitted = fitted(&whole, field, spaces);
            let distance = apart(fitted.width, wanted[0]) + apart(fitted.height, wanted[1]);
            Choice { fitted, distance }
        })
        .collect();
    choices.sort_by(|a, b| a.distance.total_cmp(&b.distance));
    choices.truncate(most);
    choices
}

/// Counts near the one found.
pub(super) fn around(n: u32) -> std::ops::RangeInclusive<u32> {
    n.saturating_sub(3).max(2)..=n + 3
}

/// By what share the larger of two exceeds the smaller.
pub(super) fn apart(a: f64, b: f64) -> f64 {
    (a / b).max(b / a) - 1.0
}
