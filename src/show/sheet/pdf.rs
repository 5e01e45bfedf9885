//! `sheet.pdf`. What does not fit on a page goes on on the next: nothing is left out and nothing shrinks
//! below what can be read at a machine.

use super::{Block, Body, Page, Sheet};
use crate::{
    paper::{Anchor, BLACK, Colour, Document, Face, Ink, Paper, Printed, Type},
    show::drawing::{self, Drawing},
};
use kurbo::{BezPath, Rect};

/// Most printers reach this far out, mm.
const MARGIN: f64 = 12.0;
/// Between two columns, mm.
const GUTTER: f64 = 6.0;
/// Least and greatest height of the pictures, mm.
const PICTURES: [f64; 2] = [50.0, 104.0];
/// Greatest height of two rows of them, mm.
const TWO_ROWS: f64 = 170.0;
const LEADING: f64 = 1.36;
const SOFT: Colour = [68, 68, 68];
const RULE: Colour = [200, 200, 200];
const WARN: Colour = [0x9a, 0x34, 0x12];

const HEADING: Type = Type::in_points(Face::Bold, 19.0, BLACK);
const UNDER: Type = Type::in_points(Face::Plain, 10.0, SOFT);
const HEAD: Type = Type::in_points(Face::Bold, 11.5, BLACK);
const TEXT: Type = Type::in_points(Face::Plain, 9.0, BLACK);
const NAME: Type = Type::in_points(Face::Plain, 9.0, SOFT);
const SMALL: Type = Type::in_points(Face::Plain, 7.5, SOFT);

pub fn write(sheet: &Sheet, paper: Paper) -> Vec<u8> {
    let mut document = Document::new(&sheet.title, Printed::AsFits);
    let mut writer = Writer { document: &mut document, size: paper.size(), page: 0, pages: 0 };
    for page in &sheet.pages {
        writer.lay(page);
    }
    let pages = writer.pages;
    let [width, _] = paper.size();
    for page in 0..pages {
        let foot = MARGIN * 0.55;
        document.text(page, [MARGIN, foot], Anchor::Start, SMALL, &sheet.title);
        let number = format!("page {} of {pages}", page + 1);
        document.text(page, [width - MARGIN, foot], Anchor::End, SMALL, &number);
    }
    document.finish()
}

struct Writer<'a> {
    document: &'a mut Document,
    size: [f64; 2],
    /// On which the writer stands.
    page: usize,
    pages: usize,
}

/// A column of words, and how far down it is filled.
#[derive(Clone, Copy)]
struct Column {
    page: usize,
    left: f64,
    width: f64,
    y: f64,
}

impl Writer<'_> {
    fn new_page(&mut self) {
        self.page = self.document.page(self.size);
        self.pages += 1;
    }

    fn lay(&mut self, page: &Page) {
        self.new_page();
        let [width, height] = [self.size[0] - 2.0 * MARGIN, self.size[1] - 2.0 * MARGIN];
        let mut top = Column { page: self.page, left: MARGIN, width, y: MARGIN + height };
        for line in self.document.wrap(&page.heading, HEADING, width) {
            self.line(&mut top, 0.0, HEADING, &line);
        }
        self.paragraph(&mut top, 0.0, UNDER, &page.under);
        top.y -= 2.0;
        let half = (width - GUTTER) / 2.0;
        let column = |i: f64| Column { left: MARGIN + i * (half + GUTTER), width: half, ..top };
        let columns = [column(0.0), column(1.0)];
        // Measured on a page that is thrown away, so that the pictures get what room is left.
        let words = self.measured(|writer| {
            let mut ends = columns.map(|column| Column { page: 0, ..column });
            for (end, blocks) in ends.iter_mut().zip(&page.columns) {
                writer.blocks(end, blocks);
            }
            let mut foot = Column { page: 0, y: ends[0].y.min(ends[1].y), ..top };
            writer.blocks(&mut foot, &page.foot);
            top.y - foot.y + 3.0
        });
        let most = if page.pictures.len() > 1 { TWO_ROWS } else { PICTURES[1] };
        let room = (top.y - MARGIN - words).clamp(PICTURES[0], most);
        let frame = Rect::new(MARGIN, top.y - room, MARGIN + width, top.y);
        let below = self.pictures(page, frame);
        let mut ends = columns.map(|column| Column { y: below - 3.0, ..column });
        for (end, blocks) in ends.iter_mut().zip(&page.columns) {
            self.blocks(end, blocks);
        }
        // Under the longer of the two.
        let last = match ends[0].page.cmp(&ends[1].page) {
            std::cmp::Ordering::Less => ends[1],
            std::cmp::Ordering::Greater => ends[0],
            std::cmp::Ordering::Equal if ends[0].y < ends[1].y => ends[0],
            std::cmp::Ordering::Equal => ends[1],
        };
        let mut foot = Column { left: MARGIN, width, ..last };
        self.blocks(&mut foot, &page.foot);
    }

    /// How high something is when it is written on endless paper.
    fn measured(&self, write: impl FnOnce(&mut Writer) -> f64) -> f64 {
        let mut scratch = Document::new("", Printed::AsFits);
        let page = scratch.page(self.size);
        let size = [self.size[0], f64::INFINITY];
        write(&mut Writer { document: &mut scratch, size, page, pages: 1 })
    }

    /// The pictures, each row as high as its width and the frame allow; where they end.
    fn pictures(&mut self, page: &Page, frame: Rect) -> f64 {
        let shape = |picture: &Drawing| picture.window.width() / picture.window.height();
        let natural = |row: &Vec<Drawing>| {
            let gaps = GUTTER * (row.len() as f64 - 1.0);
            ((frame.width() - gaps) / row.iter().map(shape).sum::<f64>()).min(PICTURES[1])
        };
        let gaps = GUTTER * (page.pictures.len() as f64 - 1.0);
        let all: f64 = page.pictures.iter().map(natural).sum();
        let shrunk = ((frame.height() - gaps) / all).min(1.0);
        let mut y = frame.y1;
        for row in &page.pictures {
            let height = natural(row) * shrunk;
            let wide = |picture: &Drawing| shape(picture) * height;
            let gaps = GUTTER * (row.len() as f64 - 1.0);
            let mut left = frame.center().x - (row.iter().map(wide).sum::<f64>() + gaps) / 2.0;
            for picture in row {
                let place = Rect::new(left, y - height, left + wide(picture), y);
                picture.on_paper(self.document, self.page, place);
                left = place.x1 + GUTTER;
            }
            y -= height + GUTTER;
        }
        y + GUTTER
    }

    fn blocks(&mut self, column: &mut Column, blocks: &[Block]) {
        for block in blocks {
            self.block(column, block);
        }
    }

    fn block(&mut self, column: &mut Column, Block { head, body }: &Block) {
        let alarm = matches!(body, Body::Alarm(_));
        let (from, started) = (column.y, column.page);
        let inset = if alarm { 3.0 } else { 0.0 };
        column.left += inset;
        column.width -= inset;
        if !head.is_empty() {
            // A head stays with what follows it.
            self.room(column, 14.0);
            column.y -= 1.6;
            let look = Type { colour: if alarm { WARN } else { BLACK }, ..HEAD };
            self.line(column, 0.0, look, head);
            column.y -= 0.6;
        }
        match body {
            Body::Table(rows) => self.table(column, rows),
            Body::Numbered(texts) => {
                for (i, text) in texts.iter().enumerate() {
                    self.item(column, &format!("{}.", i + 1), text);
                }
            }
            Body::Ticks(texts) => {
                for text in texts {
                    self.tick(column, text);
                }
            }
            Body::Points(texts) | Body::Alarm(texts) => {
                for text in texts {
                    self.item(column, "•", text);
                }
            }
            Body::Sentence(text) => self.paragraph(column, 0.0, TEXT, text),
        }
        column.left -= inset;
        column.width += inset;
        if alarm {
            let top = if column.page == started { from - 1.6 } else { self.size[1] - MARGIN };
            let bar = Rect::new(column.left, column.y, column.left + 1.0, top);
            self.document.path(column.page, &drawing::rectangle(bar), Ink::fill(WARN));
        }
        column.y -= 1.2;
    }

    /// Goes on on the next page if less than `height` is left.
    fn room(&mut self, column: &mut Column, height: f64) {
        let endless = self.size[1].is_infinite();
        if endless || column.y - height >= MARGIN {
            return;
        }
        // The other column may have turned the page already.
        if column.page == self.page {
            self.new_page();
        }
        column.page += 1;
        column.y = self.size[1] - MARGIN;
    }

    fn line(&mut self, column: &mut Column, indent: f64, look: Type, text: &str) {
        let high = look.size * LEADING;
        self.room(column, high);
        column.y -= high;
        let at = [column.left + indent, column.y + look.size * 0.3];
        self.document.text(column.page, at, Anchor::Start, look, text);
    }

    fn paragraph(&mut self, column: &mut Column, indent: f64, look: Type, text: &str) {
        for line in self.document.wrap(text, look, column.width - indent) {
            self.line(column, indent, look, &line);
        }
    }

    /// A sign, and a paragraph beside it.
    fn item(&mut self, column: &mut Column, sign: &str, text: &str) {
        let indent = (self.document.width(sign, TEXT) + 1.4).max(4.6);
        self.room(column, TEXT.size * LEADING);
        let at = [column.left, column.y - TEXT.size * (LEADING - 0.3)];
        self.document.text(column.page, at, Anchor::Start, TEXT, sign);
        self.paragraph(column, indent, TEXT, text);
        column.y -= 0.4;
    }

    fn tick(&mut self, column: &mut Column, text: &str) {
        self.room(column, 5.4);
        let side = 3.4;
        let top = column.y - 0.4;
        let square = Rect::new(column.left + 0.2, top - side, column.left + 0.2 + side, top);
        self.document.path(column.page, &drawing::rectangle(square), Ink::line(BLACK, 0.3));
        self.paragraph(column, 6.2, TEXT, text);
        column.y -= 1.3;
    }

    fn table(&mut self, column: &mut Column, rows: &[(&'static str, String)]) {
        let widest =
            rows.iter().map(|(name, _)| self.document.width(name, NAME)).fold(0.0, f64::max);
        let indent = (widest + 3.0).min(column.width * 0.5);
        for (name, says) in rows {
            let lines = self.document.wrap(says, TEXT, column.width - indent);
            self.room(column, lines.len().min(30) as f64 * TEXT.size * LEADING + 1.0);
            let at = [column.left, column.y - TEXT.size * (LEADING - 0.3)];
            self.document.text(column.page, at, Anchor::Start, NAME, name);
            for line in lines {
                self.line(column, indent, TEXT, &line);
            }
            column.y -= 0.3;
            let mut rule = BezPath::new();
            let right = column.left + column.width;
            drawing::polyline(&mut rule, &[[column.left, column.y], [right, column.y]]);
            self.document.path(column.page, &rule, Ink::line(RULE, 0.15));
            column.y -= 0.5;
        }
    }
}
