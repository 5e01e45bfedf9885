//! A piece of the cover as it is cut and marked: its back up, as it lies.

use super::drawing::{self, Anchor, Drawing, Letters, Shape, Stand, Style, Turn, Words};
use crate::{
    job::Job,
    layout::{LineKind, Part, Piece, piece_letter},
    machine::Work,
    words::{count, length, other},
};
use kurbo::{BezPath, Rect};

/// What a piece is called.
pub fn name(part: Part) -> String {
    match part.of {
        1 => "Cover".to_string(),
        of => format!("Cover, piece {} ({} of {of})", piece_letter(part.number), part.number),
    }
}

/// Where a piece is cut, closed.
pub fn outline(piece: &Piece) -> BezPath {
    let mut path = BezPath::new();
    let points: Vec<[f64; 2]> = piece.outline.iter().map(|p| [p.x, p.y]).collect();
    drawing::polyline(&mut path, &points[..points.len() - 1]);
    path.close_path();
    path
}

/// The picture of a piece; `marked` is the width of a diamond on the cloth.
pub fn picture(job: &Job, marked: f64, piece: &Piece) -> Drawing {
    let [w, h] = piece.cut;
    let t = w.max(h) / 27.0;
    let mut drawing = Drawing {
        id: piece.part.stem(Work::Fabric),
        class: "panel cover",
        described: format!(
            "{}, back up, {}; left and right are exchanged",
            name(piece.part),
            count(piece.marks.len(), "mark", "marks")
        ),
        window: Rect::new(-5.0 * t, -1.5 * t, w + 1.5 * t, h + 5.0 * t),
        letter: t,
        shapes: Vec::new(),
    };
    drawing.path(Style::Panel, outline(piece));
    for (style, kinds) in [
        (Style::Guide, &[LineKind::TurnIn, LineKind::Tack] as &[_]),
        (Style::Rim, &[LineKind::Trim, LineKind::Opening]),
        (Style::Centre, &[LineKind::Centre]),
        (Style::Pleat, &[LineKind::Pleat, LineKind::Seam, LineKind::Match, LineKind::Notch]),
        (Style::Mark, &[LineKind::Arrow]),
    ] {
        let mut path = BezPath::new();
        for line in piece.lines.iter().filter(|line| kinds.contains(&line.kind)) {
            let points: Vec<[f64; 2]> = line.points.iter().map(|p| [p.x, p.y]).collect();
            drawing::polyline(&mut path, &points);
        }
        drawing.path(style, path);
    }
    let mut crosses = BezPath::new();
    for (_, at) in &piece.marks {
        // Larger than the pen draws them, to be seen on paper.
        let arm = t * 0.45;
        drawing::polyline(&mut crosses, &[[at.x - arm, at.y], [at.x + arm, at.y]]);
        drawing::polyline(&mut crosses, &[[at.x, at.y - arm], [at.x, at.y + arm]]);
    }
    drawing.path(Style::Mark, crosses);
    let size = (marked / 4.5).min(t * 0.85);
    let names = piece.marks.iter().map(|(name, at)| ([at.x, at.y - 1.3 * size], name.to_string()));
    drawing.shapes.push(Shape::Words(Words {
        style: Style::Name,
        size,
        anchor: Anchor::Middle,
        turn: Turn::Level,
        stand: Stand::Baseline,
        words: names.collect(),
    }));
    let both = |mm| format!("{} · {}", length(mm, job.unit), length(mm, other(job.unit)));
    drawing.across([0.0, w], h + 2.5 * t, Letters::On, &both);
    drawing.up([0.0, h], -2.5 * t, Letters::On, &both);
    drawing
}
