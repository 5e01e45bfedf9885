//! A layout as drawings: one for each sheet, in its own frame, for people with other programs.

use super::dxf::{Closing, Drawing, Layer, Shape};
use crate::{
    job::Job,
    layout::{HoleSheet, Layout, LineKind, Part, Piece, piece_letter},
    machine::Work,
    notice, words,
};

/// Height of a note's letters, mm.
const NOTE: f64 = 8.0;

/// The drawings of one work by file name, as DXF bytes.
pub fn write(job: &Job, layout: &Layout, work: Work) -> Vec<(String, Vec<u8>)> {
    if work == Work::Foam && job.wadding > 0.0 && job.wadding_overhang > 0.0 {
        let foam = super::dxf::write(&holes(job, &layout.foam));
        let wadding = super::dxf::write(&wadding(job, &layout.foam));
        return vec![("foam.dxf".to_string(), foam), ("wadding.dxf".to_string(), wadding)];
    }
    let drawings = match work {
        Work::Board => vec![(Part::WHOLE, holes(job, &layout.board))],
        Work::Foam => vec![(Part::WHOLE, holes(job, &layout.foam))],
        Work::Fabric => layout.cover.pieces.iter().map(|p| (p.part, cover(job, p))).collect(),
    };
    let named = |(part, drawing): (Part, Drawing)| {
        (format!("{}.dxf", part.stem(work)), super::dxf::write(&drawing))
    };
    drawings.into_iter().map(named).collect()
}

/// A drawing while it is made: layers come into being as they are drawn on.
struct Paper {
    drawing: Drawing,
}

impl Paper {
    fn new(job: &Job, work: Work) -> Self {
        let title = format!("{work} - {}", job.title);
        Paper { drawing: Drawing { title, layers: Vec::new(), shapes: Vec::new() } }
    }

    fn layer(&mut self, name: &str) -> usize {
        let layers = &mut self.drawing.layers;
        layers.iter().position(|layer| layer.name == name).unwrap_or_else(|| {
            // Colours 1 to 7 are the ones every reader shows; the last is black or white.
            let colour = [7, 5, 3, 1, 6, 4][layers.len() % 6];
            layers.push(Layer { name: name.to_string(), colour });
            layers.len() - 1
        })
    }

    /// The line that a soft layer is cut along, beyond the board's edge.
    fn cut_line(&mut self, foam: &HoleSheet, overhang: f64) {
        let layer = self.layer("CUT-LINE");
        let corners = foam.beyond(overhang);
        self.drawing.shapes.push(Shape::Outline { layer, corners });
    }

    fn notes(&mut self, below: f64, lines: &[String]) {
        let layer = self.layer("NOTES");
        for (i, text) in lines.iter().enumerate() {
            let at = [0.0, below - (i as f64 + 2.0) * NOTE * 1.6];
            self.drawing.shapes.push(Shape::Text { layer, at, height: NOTE, text: text.clone() });
        }
    }

    fn centre_lines(&mut self, [w, h]: [f64; 2]) {
        let layer = self.layer("CENTRE-LINES");
        for (from, to) in [([w / 2.0, 0.0], [w / 2.0, h]), ([0.0, h / 2.0], [w, h / 2.0])] {
            self.drawing.shapes.push(Shape::Line { layer, from, to });
        }
    }
}

fn holes(job: &Job, sheet: &HoleSheet) -> Drawing {
    let mut paper = Paper::new(job, sheet.work);
    let outline = paper.layer("OUTLINE");
    paper.drawing.shapes.push(Shape::Outline { layer: outline, corners: sheet.edge.clone() });
    for opening in &sheet.openings {
        let layer = paper.layer("OPENINGS");
        paper.drawing.shapes.push(Shape::Outline { layer, corners: opening.clone() });
    }
    if sheet.is_cut_out() {
        let layer = paper.layer("SHEET");
        let [w, h] = sheet.size;
        let points = vec![[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]];
        paper.drawing.shapes.push(Shape::Polyline { layer, points, closing: Closing::Closed });
    }
    if sheet.work == Work::Foam && sheet.margin > 0.0 {
        paper.cut_line(sheet, sheet.margin);
    }
    paper.centre_lines(sheet.size);
    for other in &sheet.others {
        let layer = paper.layer("OTHER-HOLES");
        let centre = [other.at.x, other.at.y];
        paper.drawing.shapes.push(Shape::Circle { layer, centre, radius: other.diameter / 2.0 });
    }
    for stroke in &sheet.engraved {
        let layer = paper.layer("ENGRAVED");
        let points = stroke.iter().map(|p| [p.x, p.y]).collect();
        paper.drawing.shapes.push(Shape::Polyline { layer, points, closing: Closing::Open });
    }
    let holes =
        paper.layer(&format!("HOLES-{}MM", words::decimal(sheet.hole, 2).replace('.', "_")));
    for (_, at) in &sheet.places {
        paper.drawing.shapes.push(Shape::Circle {
            layer: holes,
            centre: [at.x, at.y],
            radius: sheet.hole / 2.0,
        });
    }
    for groove in &sheet.grooves {
        let layer = paper.layer("GROOVES");
        let [from, to] = groove.map(|p| [p.x, p.y]);
        paper.drawing.shapes.push(Shape::Line { layer, from, to });
    }
    let lies = match sheet.up {
        crate::job::FaceUp::Front => "seen with its front face up",
        crate::job::FaceUp::Back => "seen with its back face up, left and right exchanged",
    };
    let mut notes = vec![
        format!("{} - {}, {lies}", sheet.work, job.title),
        format!(
            "{} x {} x {} mm, {} holes of {} mm",
            words::decimal(sheet.size[0], 2),
            words::decimal(sheet.size[1], 2),
            words::decimal(sheet.thickness, 2),
            sheet.places.len(),
            words::decimal(sheet.hole, 2)
        ),
    ];
    notes.extend(notice::SHORT.map(str::to_string));
    paper.notes(0.0, &notes);
    paper.drawing
}

/// The wadding over the foam: the board's outline, and the line it is cut along.
fn wadding(job: &Job, foam: &HoleSheet) -> Drawing {
    let mut paper = Paper::new(job, Work::Foam);
    paper.drawing.title = format!("wadding - {}", job.title);
    let layer = paper.layer("OUTLINE");
    paper.drawing.shapes.push(Shape::Outline { layer, corners: foam.edge.clone() });
    paper.cut_line(foam, job.wadding_overhang);
    for opening in &foam.openings {
        let layer = paper.layer("OPENINGS");
        paper.drawing.shapes.push(Shape::Outline { layer, corners: opening.clone() });
    }
    paper.centre_lines(foam.size);
    let mut notes = vec![
        format!("wadding - {}, seen with its front face up", job.title),
        format!(
            "{} mm thick, {} mm beyond the board all round; open it over every button's hole",
            words::decimal(job.wadding, 2),
            words::decimal(job.wadding_overhang, 2)
        ),
    ];
    notes.extend(notice::SHORT.map(str::to_string));
    paper.notes((foam.margin - job.wadding_overhang).min(0.0), &notes);
    paper.drawing
}

fn cover(job: &Job, piece: &Piece) -> Drawing {
    let mut paper = Paper::new(job, Work::Fabric);
    let which = match piece.part.of {
        1 => String::new(),
        of => {
            format!(", piece {} ({} of {of})", piece_letter(piece.part.number), piece.part.number)
        }
    };
    for line in &piece.lines {
        let layer = paper.layer(match line.kind {
            LineKind::Cut => "CUT-LINE",
            LineKind::Centre => "CENTRE-LINES",
            LineKind::Mark(_) => "BUTTON-MARKS",
            LineKind::Arrow => "ARROW",
            LineKind::Pleat => "PLEAT-LINES",
            LineKind::Seam => "SEAM-LINES",
            LineKind::Match => "MATCH-TICKS",
            LineKind::TurnIn => "TURN-IN",
            LineKind::Tack => "TACK-LINE",
            LineKind::Trim => "TRIM-AFTER-BUTTONING",
            LineKind::Notch => "NOTCHES",
            LineKind::Opening => "OPENINGS-CUT-LAST",
            LineKind::Words(_) => "WORDS",
        });
        let points: Vec<[f64; 2]> = line.points.iter().map(|p| [p.x, p.y]).collect();
        paper.drawing.shapes.push(match (line.kind, points.as_slice()) {
            (LineKind::Cut, [corners @ .., _]) => {
                Shape::Polyline { layer, points: corners.to_vec(), closing: Closing::Closed }
            }
            (_, &[from, to]) => Shape::Line { layer, from, to },
            _ => Shape::Polyline { layer, points, closing: Closing::Open },
        });
    }
    let mut notes = vec![
        format!(
            "fabric - {}{which}, seen from the BACK (wrong side up), left and right exchanged",
            job.title
        ),
        format!(
            "cut {} x {} mm, {} button marks",
            words::decimal(piece.cut[0], 1),
            words::decimal(piece.cut[1], 1),
            piece.marks.len()
        ),
    ];
    notes.extend(notice::SHORT.map(str::to_string));
    paper.notes(0.0, &notes);
    paper.drawing
}
