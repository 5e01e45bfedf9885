//! The board as it lies: the twine's holes, holes of other kinds, and words to be engraved.

use super::{
    Button, HoleSheet, Name, OtherHole, Tabs,
    cover::{letters, room::Room},
    hole_sheet, locating, to_sheet,
};
use crate::{
    diag::Diagnostic,
    frame::{Point, Sheet},
    job::Job,
    machine::Work,
    outline::{self, Corner, Outline},
};

/// Wood left between a hole and any other, or the edge, mm: common practice, no source.
pub(super) const WOOD: f64 = 3.0;
/// Bare wood round engraved letters, mm.
const BARE: f64 = 6.0;
/// How finely the outline is followed to find room for letters, mm.
const STEP: f64 = 5.0;

pub(super) fn sheet(
    job: &Job,
    outline: &Outline,
    openings: &[Vec<Corner>],
    buttons: &[Button],
) -> Result<HoleSheet, Vec<Diagnostic>> {
    let margin = job.board.cut_out.as_ref().map_or(0.0, |cut| cut.margin);
    let mut sheet = hole_sheet(
        outline,
        openings,
        buttons,
        Work::Board,
        job.board.thickness,
        job.board.face_up,
        job.board.hole.value,
        margin,
    );
    if let Some(cut) = &job.board.cut_out {
        let (count, length) = (cut.tabs, cut.tab_length);
        // Without any, none is so high.
        let height = if count > 0 { cut.tab_height.value } else { 0.0 };
        sheet.tabs = Tabs { count, length, height };
    }
    let mut wrong = Vec::new();
    let lay = to_sheet(sheet.size, sheet.up);
    for (hole, number) in job.board.holes.iter().zip(1..) {
        let at = lay.apply(Point::new(hole.at[0], hole.at[1]));
        let radius = hole.diameter.value / 2.0;
        let other = OtherHole {
            name: Name::own(&format!("H{number}")).expect("a letter and a few figures"),
            reason: hole.reason.clone(),
            at,
            on_panel: hole.at,
            diameter: hole.diameter.value,
            depth: hole.depth.as_ref().map(|depth| depth.value),
        };
        let place = |message: String| Diagnostic::at(hole.span.clone(), message);
        if sheet.inside([at.x, at.y]) < radius + WOOD {
            wrong.push(
                place(format!("the hole for the {} leaves less than {WOOD} mm of wood to the board's edge or an opening", hole.reason))
                    .help("`at` is its middle, from the middle of the panel, seen from the front"),
            );
        }
        let twine = sheet.places.iter().map(|(name, at)| (name, *at, sheet.hole));
        let others = sheet.others.iter().map(|other| (&other.name, other.at, other.diameter));
        let meets = twine
            .chain(others)
            .find(|(_, there, diameter)| there.distance(at) < radius + diameter / 2.0 + WOOD);
        if let Some((name, ..)) = meets {
            wrong.push(
                place(format!("the hole for the {} runs into hole {name}", hole.reason))
                    .help("move it aside; a button's hole can give way to a [[keep_out]]"),
            );
        }
        sheet.others.push(other);
    }
    match locating::lay_out(job, outline, openings, buttons, &sheet.others, &lay) {
        Ok(locating) => sheet.locating = locating,
        Err(more) => wrong.extend(more),
    }
    if let Some(engraved) = &job.board.engraved {
        match letters_at(&sheet, &engraved.words.value, engraved.height) {
            Some(strokes) => {
                sheet.engraved = strokes;
                sheet.engraved_depth = engraved.depth.value;
            }
            None => wrong.push(
                Diagnostic::at(
                    engraved.words.span.clone(),
                    format!(
                        "there is no room between the holes for these words, {} mm high",
                        engraved.height
                    ),
                )
                .help("write fewer words, or a smaller `engraved_height`"),
            ),
        }
    }
    if wrong.is_empty() { Ok(sheet) } else { Err(wrong) }
}

/// The words where no hole and no edge is, the highest such place.
fn letters_at(sheet: &HoleSheet, words: &str, height: f64) -> Option<Vec<Vec<Point<Sheet>>>> {
    let line = |corners: &[Corner]| -> Vec<Point<Sheet>> {
        let mut points: Vec<Point<Sheet>> = outline::pieces(corners)
            .flat_map(|piece| piece.points(STEP))
            .map(|(_, [x, y])| Point::new(x, y))
            .collect();
        points.push(points[0]);
        points
    };
    let mut room = Room::within(&line(&sheet.edge));
    sheet.openings.iter().for_each(|opening| room.take(&line(opening)));
    for (_, at, diameter) in sheet.all_holes() {
        room.take_box([at.x - diameter / 2.0, at.y - diameter / 2.0], [diameter; 2]);
    }
    let writing = letters::write(words, height);
    let size = [writing.width + 2.0 * BARE, writing.height * 4.0 / 3.0 + 2.0 * BARE];
    let [x, y] = room.search(room.bounds(), size)?;
    let below = writing.height / 3.0 + BARE;
    let strokes = writing.strokes.iter();
    Some(
        strokes
            .map(|stroke| {
                stroke.iter().map(|p| Point::new(x + BARE + p[0], y + below + p[1])).collect()
            })
            .collect(),
    )
}
