//! The cutting plan: the roll from its beginning, left to right, in as many strips as it takes to be seen.

use super::{
    cover,
    drawing::{self, Anchor, Drawing, Shape, Stand, Style, Turn, Words},
};
use crate::{
    job::{Job, Turned},
    layout::{Cover, Drop, Laid, piece_letter},
};
use kurbo::{Affine, BezPath, Point, Rect};

/// The longest strip, in widths of the roll.
const LONGEST: f64 = 6.0;

pub fn picture(job: &Job, cover: &Cover) -> Drawing {
    let roll = &cover.roll;
    let drops_in_a_strip = (LONGEST * roll.width / roll.drop_length).floor().max(1.0) as usize;
    let strips: Vec<&[Drop]> = roll.drops.chunks(drops_in_a_strip).collect();
    let longest = drops_in_a_strip.min(roll.drops.len()) as f64 * roll.drop_length;
    let letter = longest.max(roll.width) / 46.0;
    let high = roll.width + 3.0 * letter;
    let mut drawing = Drawing {
        id: "roll".to_string(),
        class: "panel roll",
        described: format!(
            "{:.2} m of a roll {:.0} mm wide, with every piece of the order on it",
            roll.takes() / 1000.0,
            roll.width
        ),
        window: Rect::new(-letter, -(strips.len() as f64) * high, longest + letter, letter),
        letter,
        shapes: Vec::new(),
    };
    let mut names = Vec::new();
    let mut metres = Vec::new();
    for (row, strip) in strips.into_iter().enumerate() {
        let begin = strip[0].at;
        let bottom = -(row as f64) * high - roll.width;
        let end = (strip.len() as f64 * roll.drop_length).min(roll.length - begin);
        let cloth = Rect::new(0.0, bottom, end, bottom + roll.width);
        drawing.path(Style::Sheet(None), drawing::rectangle(cloth));
        for drop in strip {
            for laid in &drop.pieces {
                names.push(lay(&mut drawing, job, cover, laid, [drop.at - begin, bottom]));
            }
            let at = [drop.at - begin, bottom - 1.4 * letter];
            metres.push((at, format!("{:.2} m", drop.at / 1000.0)));
        }
    }
    for (style, anchor, stand, size, words) in [
        (Style::Name, Anchor::Middle, Stand::Middle, 1.4 * letter, names),
        (Style::Size, Anchor::Start, Stand::Baseline, letter, metres),
    ] {
        drawing.shapes.push(Shape::Words(Words {
            style,
            size,
            anchor,
            turn: Turn::Level,
            stand,
            words,
        }));
    }
    drawing
}

/// Draws a piece on its strip; its name with the place of it.
fn lay(
    drawing: &mut Drawing,
    job: &Job,
    cover: &Cover,
    laid: &Laid,
    [along, bottom]: [f64; 2],
) -> ([f64; 2], String) {
    let piece = &cover.pieces[laid.piece];
    let top = bottom + cover.roll.width;
    // A quarter turn clockwise: up the piece is on along the roll, and its left is at the top.
    let turn = Affine::new([0.0, -1.0, 1.0, 0.0, along, top - laid.x]);
    drawing.path(Style::Panel, turn * cover::outline(piece));
    let [w, h] = piece.cut;
    let middle = turn * Point::new(w / 2.0, h / 2.0);
    if job.fabric.turned.value == Turned::Upright {
        top_arrow(drawing, [middle.x + h * 0.42, middle.y], h * 0.18);
    }
    let name = match cover.pieces.len() {
        1 => laid.panel.to_string(),
        _ => format!("{} {}", laid.panel, piece_letter(piece.part.number)),
    };
    ([middle.x, middle.y], name)
}

/// Points to the top of a piece.
fn top_arrow(drawing: &mut Drawing, [x, y]: [f64; 2], long: f64) {
    let head = drawing.letter * 0.4;
    let mut arrow = BezPath::new();
    drawing::polyline(&mut arrow, &[[x - long, y], [x, y]]);
    drawing::polyline(&mut arrow, &[[x - head, y + head], [x, y], [x - head, y - head]]);
    drawing.path(Style::Mark, arrow);
}
