//! The cutting plan: the roll from its beginning, left to right, in as many strips as it takes to be seen.

use super::{
    cover,
    drawing::{self, Anchor, Drawing, Shape, Stand, Style, Turn, Words},
};
use crate::{
    job::{Hand, Job, Turned},
    layout::{Cover, Drop, Laid, Pair, Piece, RollPlan, piece_letter},
};
use kurbo::{Affine, BezPath, Point, Rect};

/// The longest strip, in widths of the roll.
const LONGEST: f64 = 6.0;

/// Of one cover.
pub fn picture(job: &Job, cover: &Cover) -> Drawing {
    let several = cover.pieces.len() > 1;
    let name = |piece: &Piece| match several {
        true => format!(" {}", piece_letter(piece.part.number)),
        false => String::new(),
    };
    let pieces: Vec<(&Piece, String)> = cover.pieces.iter().map(|p| (p, name(p))).collect();
    draw(job, &cover.roll, &pieces, "roll")
}

/// Of both hands of a pair.
pub fn picture_of_pair(job: &Job, pair: &Pair) -> Drawing {
    let name = |(hand, piece): &(Hand, Piece)| match piece.part.of {
        1 => format!(" {}", hand.word()),
        _ => format!(" {} {}", hand.word(), piece_letter(piece.part.number)),
    };
    let pieces: Vec<(&Piece, String)> =
        pair.pieces.iter().map(|both| (&both.1, name(both))).collect();
    draw(job, &pair.roll, &pieces, "roll-of-both")
}

fn draw(job: &Job, roll: &RollPlan, pieces: &[(&Piece, String)], id: &str) -> Drawing {
    let drops_in_a_strip = (LONGEST * roll.width / roll.drop_length).floor().max(1.0) as usize;
    let strips: Vec<&[Drop]> = roll.drops.chunks(drops_in_a_strip).collect();
    let longest = drops_in_a_strip.min(roll.drops.len()) as f64 * roll.drop_length;
    let letter = longest.max(roll.width) / 46.0;
    let high = roll.width + 3.0 * letter;
    let mut drawing = Drawing {
        id: id.to_string(),
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
                let top = bottom + roll.width;
                let (piece, name) = &pieces[laid.piece];
                let middle = lay(&mut drawing, job, piece, laid, [drop.at - begin, top]);
                names.push((middle, format!("{}{name}", laid.panel)));
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

/// Draws a piece on its strip, whose upper edge is at `top`; where its middle is.
fn lay(
    drawing: &mut Drawing,
    job: &Job,
    piece: &Piece,
    laid: &Laid,
    [along, top]: [f64; 2],
) -> [f64; 2] {
    // A quarter turn clockwise: up the piece is on along the roll, and its left is at the top.
    let turn = Affine::new([0.0, -1.0, 1.0, 0.0, along, top - laid.x]);
    drawing.path(Style::Panel, turn * cover::outline(piece));
    let [w, h] = piece.cut;
    let middle = turn * Point::new(w / 2.0, h / 2.0);
    if job.fabric.turned.value == Turned::Upright {
        top_arrow(drawing, [middle.x + h * 0.42, middle.y], h * 0.18);
    }
    [middle.x, middle.y]
}

/// Points to the top of a piece.
fn top_arrow(drawing: &mut Drawing, [x, y]: [f64; 2], long: f64) {
    let head = drawing.letter * 0.4;
    let mut arrow = BezPath::new();
    drawing::polyline(&mut arrow, &[[x - long, y], [x, y]]);
    drawing::polyline(&mut arrow, &[[x - head, y + head], [x, y], [x - head, y - head]]);
    drawing.path(Style::Mark, arrow);
}
