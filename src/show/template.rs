//! Paper templates: a board, a foam or a cover at full size over as many pages as it takes, for those
//! without a machine or to check one.
//!
//! Every page shows a window of the sheet, true to scale. Neighbours overlap; the upper one is cut along
//! its trim line and laid on the same line of the lower one, where diamonds become whole again.

mod tiles;

use super::{
    Shown, cover,
    drawing::{self, Anchor, Drawing, Shape, Stand, Style, Turn, Words},
};
use crate::{
    frame::{self, Sheet},
    job::FaceUp,
    layout::{HoleSheet, LineKind, Name, Piece},
    machine::Work,
    notice, outline,
    paper::{BLACK, Colour, Document, Face, Ink, Paper, Printed, Type, WHITE},
    words::{count, size_both},
};
use kurbo::{Affine, BezPath, Point, Rect, Vec2};
use tiles::{MARGIN, Tile, Tiles};

/// Height of a button's name, mm.
const NAME: f64 = 3.2;
/// Half a cross through the middle of a hole, mm.
const ARM: f64 = 6.0;
/// Length of the line that checks the printer, mm.
const GAUGE: f64 = 100.0;
/// Half the height of a match mark, mm.
const DIAMOND: f64 = 4.0;

const SOFT: Colour = [68, 68, 68];
const PALE: Colour = [238, 238, 236];
const TRIM: Colour = [0x6d, 0x2b, 0x4a];

/// The template of one sheet.
pub struct Template {
    pub file: String,
    pub pages: usize,
    pub bytes: Vec<u8>,
}

impl Shown<'_> {
    /// Templates of one work, for printing on `paper`: one for each piece of a cover.
    pub fn templates(&self, work: Work, paper: Paper) -> Vec<Template> {
        match work {
            Work::Board => vec![self.template(holes(&self.layout.board, "Board"), paper)],
            Work::Foam => vec![self.template(holes(&self.layout.foam, "Foam"), paper)],
            Work::Fabric => {
                self.layout.cover.pieces.iter().map(|p| self.template(piece(p), paper)).collect()
            }
        }
    }

    fn template(&self, (drawing, says): (Drawing, String), paper: Paper) -> Template {
        let size = [drawing.window.width(), drawing.window.height()];
        let name = drawing.id.clone();
        let tiles = Tiles::over(drawing.window, paper.size());
        let title = format!("{}: {}", self.job.title, drawing.described);
        let document = Document::new(&title, Printed::FullSize);
        let mut writer = Writer { document, name, title: &self.job.title, drawing, tiles };
        writer.first(paper, &says, &size_both(size, self.job.unit));
        for tile in writer.tiles.all() {
            writer.tile(&tile);
        }
        Template {
            file: format!("{}-template.pdf", writer.name),
            pages: 1 + writer.tiles.count(),
            bytes: writer.document.finish(),
        }
    }
}

fn blank(id: &str, [w, h]: [f64; 2], described: String) -> Drawing {
    Drawing {
        id: id.to_string(),
        class: "template",
        described,
        window: Rect::new(0.0, 0.0, w, h),
        letter: NAME,
        shapes: Vec::new(),
    }
}

/// A sheet with holes, and how it lies.
fn holes(sheet: &HoleSheet, what: &str) -> (Drawing, String) {
    let lies = match sheet.up {
        FaceUp::Front => "front face up",
        FaceUp::Back => "back face up, left and right exchanged",
    };
    let described = format!("{what}, {lies}");
    let mut drawing = blank(sheet.work.word(), sheet.size, described.clone());
    let [w, h] = sheet.size;
    drawing.line(Style::Centre, &[[w / 2.0, 0.0], [w / 2.0, h]]);
    drawing.line(Style::Centre, &[[0.0, h / 2.0], [w, h / 2.0]]);
    drawing.path(Style::Cut, outline::path_with_holes(&sheet.edge, &sheet.openings));
    let places: Vec<[f64; 2]> = sheet.places.iter().map(|(_, at)| [at.x, at.y]).collect();
    let mut crosses = BezPath::new();
    for &at in &places {
        cross(&mut crosses, at);
    }
    drawing.path(Style::Cross, crosses);
    drawing.shapes.push(Shape::Dots { style: Style::Rim, diameter: sheet.hole, places });
    names(&mut drawing, &sheet.places, sheet.hole / 2.0);
    (
        drawing,
        format!(
            "{described}. Lay the paper on it, prick the middle of every cross, and drill there."
        ),
    )
}

fn piece(piece: &Piece) -> (Drawing, String) {
    let described = format!("{}, back up, left and right exchanged", cover::name(piece.part));
    let mut drawing = blank(&piece.part.stem(Work::Fabric), piece.cut, described.clone());
    for line in &piece.lines {
        let style = match line.kind {
            LineKind::Cut => Style::Cut,
            LineKind::Centre => Style::Centre,
            LineKind::Arrow => Style::Mark,
            LineKind::Pleat | LineKind::Seam => Style::Pleat,
            LineKind::TurnIn | LineKind::Tack | LineKind::Trim => Style::Guide,
            LineKind::Match | LineKind::Notch | LineKind::Opening => Style::Rim,
            // Set in type instead, and every mark as a cross to prick through.
            LineKind::Words(_) | LineKind::Mark(_) => continue,
        };
        drawing.line(style, &line.points.iter().map(|p| [p.x, p.y]).collect::<Vec<_>>());
    }
    let mut crosses = BezPath::new();
    for (_, at) in &piece.marks {
        cross(&mut crosses, [at.x, at.y]);
    }
    drawing.path(Style::Cross, crosses);
    names(&mut drawing, &piece.marks, 0.0);
    let says = "Lay it on the wrong side of the cloth, top to top, and mark through the middle of every cross.";
    (drawing, format!("{described}. {says}"))
}

fn cross(path: &mut BezPath, [x, y]: [f64; 2]) {
    drawing::polyline(path, &[[x - ARM, y], [x + ARM, y]]);
    drawing::polyline(path, &[[x, y - ARM], [x, y + ARM]]);
}

/// Names stand below the middle, within the hole's edge if there is room, or under it.
fn names(drawing: &mut Drawing, places: &[(Name, frame::Point<Sheet>)], radius: f64) {
    let low = 1.5 * NAME;
    let below = if radius < 1.0 || radius > 2.0 * low { low } else { radius + NAME * 0.9 };
    let words = places.iter().map(|(name, at)| ([at.x + 1.2, at.y - below], name.to_string()));
    drawing.shapes.push(Shape::Words(Words {
        style: Style::Name,
        size: NAME,
        anchor: Anchor::Start,
        turn: Turn::Level,
        stand: Stand::Baseline,
        words: words.collect(),
    }));
}

struct Writer<'a> {
    document: Document,
    title: &'a str,
    /// What the sheet is called at the head of a page.
    name: String,
    drawing: Drawing,
    tiles: Tiles,
}

/// Where words go on: below `y`.
#[derive(Clone, Copy)]
struct Column {
    page: usize,
    left: f64,
    width: f64,
    y: f64,
}

#[derive(Clone, Copy)]
enum Written {
    OnPaper,
    Measured,
}

const HEADING: Type = Type::in_points(Face::Bold, 19.0, BLACK);
const UNDER: Type = Type::in_points(Face::Plain, 11.0, SOFT);
const HEAD: Type = Type::in_points(Face::Bold, 12.0, BLACK);
const TEXT: Type = Type::in_points(Face::Plain, 10.0, BLACK);
const SMALL: Type = Type::in_points(Face::Plain, 8.0, SOFT);

impl Writer<'_> {
    /// The page that says how to print, how the pages lie together, and whether the printer is true.
    fn first(&mut self, paper: Paper, says: &str, size: &str) {
        let [w, h] = paper.size();
        let page = self.document.page([w, h]);
        let width = w - 2.0 * MARGIN;
        let described = self.drawing.described.clone();
        let pages = count(self.tiles.count(), "page", "pages");
        let print = format!(
            "Print the {pages} that follow on {} at 100 %, \"actual size\": nothing fitted, nothing shrunk.",
            paper.word()
        );
        let texts = [
            print.as_str(),
            "Measure both lines below with a steel rule. Each must be 100 mm long. If one is not, the printer changes the size: do not use the pages.",
            "Cut each page along the line of diamonds at its left and at its foot, where it has one. Lay the cut edge on the same line of its neighbour, so that the diamonds become whole, and tape it.",
            says,
        ];
        let mut column = Column { page, left: MARGIN, width, y: h - MARGIN };
        self.write(&mut column, HEADING, 0.0, self.title);
        self.write(&mut column, UNDER, 0.0, &format!("{described} · full size, {size}"));
        self.write(&mut column, HEAD, 3.0, "How to use it");
        for text in texts {
            self.write(&mut column, TEXT, 1.0, text);
        }
        self.write(&mut column, HEAD, 3.0, "Is the printer true? And how the pages lie");
        let top = column.y - 4.0;
        let corner = [MARGIN + 4.0, MARGIN + 8.0];
        self.gauge(page, corner);
        // Within the gauge's corner: the map above, the safety notice below.
        let left = corner[0] + 12.0;
        let notice = Column { page, left, width: MARGIN + width - left, y: 0.0 };
        let mut measure = notice;
        self.notice(&mut measure, Written::Measured);
        let map = Rect::new(left, corner[1] + 10.0 - measure.y, MARGIN + width, top);
        let below = self.map(page, map);
        self.notice(&mut Column { y: below - 4.0, ..notice }, Written::OnPaper);
    }

    fn write(&mut self, column: &mut Column, look: Type, gap: f64, text: &str) {
        column.y -= gap;
        for line in self.document.wrap(text, look, column.width) {
            column.y -= look.size * 1.36;
            let at = [column.left, column.y + look.size * 0.3];
            self.document.text(column.page, at, Anchor::Start, look, &line);
        }
    }

    /// The safety notice, or only how far down it would reach.
    fn notice(&mut self, column: &mut Column, written: Written) {
        for text in notice::WHOLE {
            match written {
                Written::OnPaper => self.write(column, SMALL, 0.6, text),
                Written::Measured => {
                    let lines = self.document.wrap(text, SMALL, column.width).len();
                    column.y -= 0.6 + lines as f64 * SMALL.size * 1.36;
                }
            }
        }
    }

    /// Two lines of 100 mm from one corner, with a tick every 10 mm.
    fn gauge(&mut self, page: usize, [x, y]: [f64; 2]) {
        let mut path = BezPath::new();
        drawing::polyline(&mut path, &[[x, y + GAUGE], [x, y], [x + GAUGE, y]]);
        for i in 0..=10 {
            let at = f64::from(i) * GAUGE / 10.0;
            let long = if i % 10 == 0 { 5.0 } else { 2.0 };
            drawing::polyline(&mut path, &[[x + at, y], [x + at, y + long]]);
            drawing::polyline(&mut path, &[[x, y + at], [x + long, y + at]]);
        }
        self.document.path(page, &path, Ink::line(BLACK, 0.2));
        let says = "100 mm";
        self.document.text(page, [x + GAUGE / 2.0, y - 4.0], Anchor::Middle, SMALL, says);
        let up = [x - 1.5, y + GAUGE / 2.0];
        self.document.turned(page, up, Turn::Up, Anchor::Middle, SMALL, says);
    }

    /// The whole sheet, small, and the pages over it; where it ends.
    fn map(&mut self, page: usize, frame: Rect) -> f64 {
        let all = self.tiles.bounds();
        let scale = (frame.width() / all.width()).min(frame.height() / all.height());
        let corner = Vec2::new(frame.x0, frame.y1 - all.height() * scale);
        let to_paper = Affine::translate(corner)
            * Affine::scale(scale)
            * Affine::translate(-all.origin().to_vec2());
        // Names would be a blur, and black is for what is measured.
        let shapes = self.drawing.shapes.iter().filter_map(|shape| match shape {
            Shape::Path { style: Style::Cut, path } => {
                Some(Shape::Path { style: Style::Panel, path: path.clone() })
            }
            Shape::Path { style: Style::Cross, path } => {
                Some(Shape::Path { style: Style::Mark, path: path.clone() })
            }
            Shape::Path { style: Style::Mark, .. } => Some(shape.clone()),
            _ => None,
        });
        let mut shapes: Vec<Shape> = shapes.collect();
        // The sheet lies under its marks.
        shapes.sort_by_key(|shape| !matches!(shape, Shape::Path { style: Style::Panel, .. }));
        let small = Drawing { shapes, ..self.drawing.clone() };
        small.part_on_paper(&mut self.document, page, to_paper, to_paper.transform_rect_bbox(all));
        for tile in self.tiles.all() {
            let place = to_paper.transform_rect_bbox(tile.shown);
            let look = Type {
                face: Face::Bold,
                size: (place.height() * 0.3).clamp(1.2, 7.0),
                colour: TRIM,
            };
            self.document.path(page, &drawing::rectangle(place), Ink::line(TRIM, 0.15));
            let at = [place.center().x, place.center().y - look.size * 0.35];
            self.document.text(page, at, Anchor::Middle, look, &tile.number.to_string());
        }
        frame.y1 - all.height() * scale
    }

    /// Where words beside a match mark hide neither a mark nor its name, on the sheet.
    fn clear_of_marks(&self, at: Point, words: &str) -> Point {
        let (wide, high, off) = (self.document.width(words, SMALL), SMALL.size, DIAMOND + 0.6);
        let beside = [
            (off, DIAMOND * 0.5),
            (-off - wide, DIAMOND * 0.5),
            (off, -DIAMOND * 0.5 - high),
            (-off - wide, -DIAMOND * 0.5 - high),
        ];
        let mut places = beside.map(|(x, y)| at + Vec2::new(x, y)).into_iter();
        let clear = places.find(|place| {
            let taken = Rect::from_origin_size(*place, (wide, high)).inflate(1.0, 1.0);
            !self.drawing.shapes.iter().any(|shape| match shape {
                Shape::Path { style: Style::Cross, path } => {
                    path.segments().any(|s| kurbo::Shape::bounding_box(&s).overlaps(taken))
                }
                Shape::Words(names) => names.words.iter().any(|([x, y], name)| {
                    let wide = names.size * name.len() as f64;
                    Rect::new(*x, *y, x + wide, y + names.size).overlaps(taken)
                }),
                _ => false,
            })
        });
        clear.unwrap_or(at + Vec2::from(beside[0]))
    }

    fn tile(&mut self, tile: &Tile) {
        let page = self.document.page(self.tiles.paper);
        let shown = tile.shown;
        let frame = Rect::from_origin_size((MARGIN, MARGIN), shown.size());
        let to_paper = Affine::translate(frame.origin() - shown.origin());
        let number = Type { face: Face::Bold, size: 50.0, colour: PALE };
        let middle = [frame.center().x, frame.center().y - 18.0];
        self.document.text(page, middle, Anchor::Middle, number, &tile.number.to_string());
        self.drawing.part_on_paper(&mut self.document, page, to_paper, frame);
        let joins = self.tiles.joins(tile);
        let mut trims = BezPath::new();
        let mut diamonds = BezPath::new();
        for join in &joins {
            let on_page = |p: Point| to_paper * p;
            let [from, to] = join.line.map(on_page).map(|p| [p.x, p.y]);
            drawing::polyline(&mut trims, &[from, to]);
            for at in join.marks.map(on_page) {
                let d = DIAMOND;
                let around =
                    [[at.x - d, at.y], [at.x, at.y + d], [at.x + d, at.y], [at.x, at.y - d]];
                drawing::polyline(&mut diamonds, &around);
                diamonds.close_path();
                drawing::polyline(&mut diamonds, &[around[0], around[2]]);
                drawing::polyline(&mut diamonds, &[around[1], around[3]]);
                let words = format!("{} + {}", join.pages[0], join.pages[1]);
                let beside = to_paper * self.clear_of_marks(to_paper.inverse() * at, &words);
                let (beside, look) = ([beside.x, beside.y], Type { colour: TRIM, ..SMALL });
                let ground = Type { colour: WHITE, ..look };
                self.document.halo(page, beside, Turn::Level, Anchor::Start, ground, &words);
                self.document.text(page, beside, Anchor::Start, look, &words);
            }
        }
        self.document.path(page, &trims, Ink::line(TRIM, 0.15));
        self.document.path(page, &diamonds, Ink::line(TRIM, 0.15));
        let span = |from: f64, to: f64| format!("{from:.1} to {to:.1}");
        let head = format!(
            "{} template, page {} of {} · X {}, Y {} mm from the lower left corner of the {0}",
            self.name,
            tile.number,
            self.tiles.count(),
            span(shown.x0, shown.x1),
            span(shown.y0, shown.y1)
        );
        let at = [MARGIN, self.tiles.paper[1] - MARGIN + 2.0];
        self.document.text(page, at, Anchor::Start, SMALL, &head);
    }
}
