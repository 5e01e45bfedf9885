//! Upper rows that bend with the top of the outline and fade to straight below.
//!
//! Every column keeps its place across. The top row goes down with the line that lies `edge` inside the
//! outline; row r of the m that follow goes down by 1 - r/m of that, so that of all ways to fade the
//! largest change from row to row is least. Where the outline falls steeply the row falls less: never
//! more than [`STEEPEST`] along a row, so that every diamond stays one.

use super::{Button, Fitted};
use crate::{
    diag::Diagnostic,
    frame::Point,
    job::{Job, PatternKind},
    outline::Outline,
};
use std::collections::{BTreeMap, BTreeSet};

/// A pleat turned further than this is none of a diamond any more: rows would run into each other. Degrees;
/// common practice, no source.
const MOST_TURN: f64 = 45.0;
/// How steeply a row may run, up over along: common practice, no source.
pub const STEEPEST: f64 = 0.35;
/// How far apart places are looked at on the way down from the top, mm.
const STEP: f64 = 1.0;

/// How far each column's top place goes down, and over how many rows that fades.
pub struct Following {
    down: BTreeMap<i32, f64>,
    rows: u32,
}

impl Following {
    /// `edge` from the outline to the top row; `rows` that bend, at most all but the lowest.
    pub fn new(fitted: &Fitted, outline: &Outline, edge: f64, rows: u32) -> Self {
        let columns: Vec<i32> = (-(fitted.across as i32 - 1)..=fitted.across as i32 - 1).collect();
        let across = |column: i32| f64::from(column) * fitted.width / 2.0;
        let top = fitted.on_panel([0, fitted.rows as i32 - 1]).y;
        let wanted: Vec<(f64, f64)> = columns
            .iter()
            .filter_map(|&column| {
                let x = across(column);
                Some((x, (top - inside(outline, x, edge, top)?).max(0.0)))
            })
            .collect();
        // Down at least as far as wanted at each column, and no steeper between any two.
        let needed = |x: f64| {
            let from = |&(there, down): &(f64, f64)| down - STEEPEST * (x - there).abs();
            wanted.iter().map(from).fold(0.0, f64::max)
        };
        let down = columns.iter().map(|&column| (column, needed(across(column)))).collect();
        Following { down, rows: rows.min(fitted.rows.saturating_sub(1)).max(1) }
    }

    /// Refuses rows that bend so sharply that these buttons' pleats run into each other, and says how many
    /// would have to bend.
    pub fn refuse_crossed(
        &self,
        job: &Job,
        fitted: &Fitted,
        buttons: &[Button],
    ) -> Result<(), Vec<Diagnostic>> {
        let kept: BTreeSet<[i32; 2]> = buttons.iter().map(|button| button.lattice).collect();
        let turn = self.largest_turn_of(fitted, |place| kept.contains(&place));
        if turn <= MOST_TURN {
            return Ok(());
        }
        let over = |rows: u32| {
            let other = Following { down: self.down.clone(), rows };
            other.largest_turn_of(fitted, |place| kept.contains(&place))
        };
        let enough = (self.rows + 1..fitted.rows).find(|&rows| over(rows) <= MOST_TURN);
        let refusal = Diagnostic::at(
            job.pattern.place.span.clone(),
            format!(
                "following the top within {} of {} rows turns pleats by up to {turn:.0} degrees: rows run into each other",
                self.rows, fitted.rows
            ),
        );
        Err(vec![refusal.help(match enough {
            Some(rows) => format!("write follow = {rows} or more, or top = \"straight\""),
            None => {
                "write top = \"straight\", more rows, or a panel with a flatter top".to_string()
            }
        })])
    }

    /// How far below its place in the straight lattice a place goes.
    pub fn below(&self, fitted: &Fitted, [column, up]: [i32; 2]) -> f64 {
        let row = (fitted.rows as i32 - 1 - up) / 2;
        let share = (1.0 - f64::from(row) / f64::from(self.rows)).max(0.0);
        share * self.down.get(&column).copied().unwrap_or(0.0)
    }

    /// The largest angle by which a pleat turns from the straight lattice, degrees.
    pub fn largest_turn(&self, fitted: &Fitted) -> f64 {
        self.largest_turn_of(fitted, |_| true)
    }

    /// The same of pleats between places that count.
    fn largest_turn_of(&self, fitted: &Fitted, counts: impl Fn([i32; 2]) -> bool) -> f64 {
        let [width, gap] = [fitted.width / 2.0, fitted.row_gap()];
        let mut most: f64 = 0.0;
        for (_, place) in fitted.lattice() {
            let steps: &[[i32; 2]] = match fitted.kind {
                PatternKind::Diamond => &[[1, -2], [-1, -2]],
                _ => &[[2, 0], [0, -2]],
            };
            for step in steps {
                let next = [place[0] + step[0], place[1] + step[1]];
                let on = self.down.contains_key(&next[0]) && next[1] >= 1 - fitted.rows as i32;
                if !on || !counts(place) || !counts(next) {
                    continue;
                }
                let straight = [f64::from(step[0]) * width, f64::from(step[1]) * gap / 2.0];
                let bent = straight[1] + self.below(fitted, place) - self.below(fitted, next);
                let cross = straight[0] * bent - straight[1] * straight[0];
                let dot = straight[0] * straight[0] + straight[1] * bent;
                most = most.max(libm::atan2(cross.abs(), dot).to_degrees());
            }
        }
        most
    }
}

/// The highest place of a column that is `edge` inside the outline, below `top`.
fn inside(outline: &Outline, x: f64, edge: f64, top: f64) -> Option<f64> {
    let deep = |y: f64| outline.depth(Point::new(x, y)) >= edge - 1e-9;
    let lowest = -outline.height() / 2.0;
    let mut below = (0..).map(|i| top - f64::from(i) * STEP).take_while(|&y| y > lowest);
    let found = below.find(|&y| deep(y))?;
    if found == top {
        return Some(top);
    }
    // Between the last place that is not and the first that is.
    let (mut out, mut within) = (found + STEP, found);
    for _ in 0..40 {
        let middle = (out + within) / 2.0;
        if deep(middle) { within = middle } else { out = middle }
    }
    Some(within)
}
