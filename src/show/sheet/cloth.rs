//! The pages for who cuts the cloth: the cutting plan, and that of both hands of a pair together.

use super::{Block, Body, Page, Shown, piece_row, texts};
use crate::{
    job::{AreaKind, Hand},
    layout::{Pair, RollPlan},
    show::{cover, roll},
    units::{Unit, YARD},
    words::{both, count, size_both},
};

/// What a person looks at before the shears; common practice, no source.
const CUTTING: [&str; 5] = [
    "The cloth has rested flat, its back up, and is long enough without its faults.",
    "Every top points the same way, and the pile runs as the arrow on each piece says.",
    "The usable width was measured between the selvedges, in more than one place.",
    "The trial in cheap cloth came out as it should.",
    "One cover was marked and laid on its foam before the others are cut.",
];

/// What becomes of cloth that follows no rectangle; common practice, no source.
const TRIM: [&str; 2] = [
    "Of the three lines that follow the panel's shape the outermost is for trimming: when the cover is buttoned and tacked, not before.",
    "In a hollow of the edge snip the turn-in, nearly to the line where it turns, so that it can spread.",
];
const OPENINGS: &str = "Each opening is marked where it lies on the flat cloth. Feel for it when all buttons hold, cut from its middle \
                        towards the corners, and turn the flaps in through it.";

/// What a person is told of both hands together.
const BOTH_HANDS: [&str; 2] = [
    "Buy this length once for both hands, in place of what the plan of each hand takes by itself.",
    "Lay the pieces of both hands as the picture has them, every top the same way, and cut both before either is buttoned.",
];

impl Shown<'_> {
    /// How the pieces lie on the roll.
    pub(super) fn cutting_page(&self) -> Page {
        let (unit, cover) = (self.job.unit, &self.layout.cover);
        let roll = &cover.roll;
        let mut rows = roll_rows(roll, unit);
        if let Some(pair) = self.pair_that_saves() {
            let saves = metres(pair.saves);
            rows.push((
                "Both hands",
                format!("off one roll they take {saves} less: the next page has it"),
            ));
        }
        let pieces = cover
            .pieces
            .iter()
            .map(|piece| (piece_row(piece.part.number, piece.part.of), size_both(piece.cut, unit)));
        rows.extend(pieces);
        let marked =
            cover.pieces.iter().map(|p| cover::picture(self.job, cover.marked[0], p)).collect();
        let mut left = vec![
            Block { head: "The cloth", body: Body::Table(rows) },
            Block { head: "Tick before you cut", body: Body::Ticks(texts(CUTTING)) },
        ];
        let last = self.cut_last();
        if !last.is_empty() {
            left.push(Block { head: "Cut last, after buttoning", body: Body::Points(texts(last)) });
        }
        Page {
            heading: "Cutting plan".to_string(),
            under: format!(
                "{} · {}",
                self.job.title,
                count(self.job.quantity as usize, "cover", "covers")
            ),
            pictures: vec![vec![roll::picture(self.job, cover)], marked],
            columns: [
                left,
                vec![Block {
                    head: "Cut in this order",
                    body: Body::Numbered(self.cutting_order()),
                }],
            ],
            foot: Vec::new(),
        }
    }

    /// The cloth of both hands, where it is worth cutting them together.
    pub(super) fn pair_that_saves(&self) -> Option<&Pair> {
        self.layout.pair.as_ref().filter(|pair| pair.saves > 0.0)
    }

    /// How the pieces of both hands lie on one roll.
    pub(super) fn pair_page(&self, pair: &Pair) -> Page {
        let unit = self.job.unit;
        let mut rows = roll_rows(&pair.roll, unit);
        rows.push(("Saves", metres(pair.saves)));
        rows.extend(pair.pieces.iter().map(|(hand, piece)| {
            let row = if *hand == Hand::Left { "Left hand" } else { "Right hand" };
            (row, size_both(piece.cut, unit))
        }));
        Page {
            heading: "Both hands off one roll".to_string(),
            under: self.job.title.clone(),
            pictures: vec![vec![roll::picture_of_pair(self.job, pair)]],
            columns: [
                vec![Block { head: "The cloth", body: Body::Table(rows) }],
                vec![Block { head: "", body: Body::Points(texts(BOTH_HANDS)) }],
            ],
            foot: Vec::new(),
        }
    }

    /// What of the cover is cut only when the buttons hold it.
    fn cut_last(&self) -> Vec<&'static str> {
        let mut last = Vec::new();
        if !self.layout.outline.is_rectangle() {
            last.extend(TRIM);
        }
        if self.layout.areas.iter().any(|area| area.kind == AreaKind::Opening) {
            last.push(OPENINGS);
        }
        last
    }
}

fn metres(mm: f64) -> String {
    format!("{:.2} m ({:.2} yd)", mm / 1000.0, mm / YARD)
}

/// What is bought must not be short by the yard either.
fn bought(mm: f64) -> String {
    let yards = (mm / YARD * 100.0 - 1e-6).ceil() / 100.0;
    format!("{:.2} m ({yards:.2} yd)", mm / 1000.0)
}

/// What a plan takes off the roll.
fn roll_rows(roll: &RollPlan, unit: Unit) -> Vec<(&'static str, String)> {
    let mut rows = vec![
        ("Roll", format!("{} wide between its selvedges", both(roll.width, unit))),
        ("Takes", bought(roll.takes())),
    ];
    if roll.length > roll.least {
        rows.push(("At the least", metres(roll.least)));
    }
    if let Some(plain) = roll.without_repeat {
        rows.push(("The repeat costs", metres(roll.length - plain)));
    }
    if let Some(first) = roll.first_cut {
        rows.push(("First cut", format!("{} before the middle of a motif", both(first, unit))));
        rows.push(("Buy", format!("{}, to be sure to reach one", bought(roll.to_buy()))));
    }
    let drops = count(roll.drops.len(), "length", "lengths");
    rows.push(("Cut off", format!("{drops}, every {}", both(roll.drop_length, unit))));
    rows
}
