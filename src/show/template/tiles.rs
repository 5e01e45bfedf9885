//! How a large sheet is parted into pages.

use kurbo::{Point, Rect};

/// From a page's edge to what is drawn, mm: farther in than any common printer fails to reach.
pub const MARGIN: f64 = 10.0;
/// How far neighbours overlap, mm: enough to glue, and for a match mark beside the edge.
const OVERLAP: f64 = 15.0;
/// Room around the sheet, mm, so that its outline is never at the very edge of a page.
const AROUND: f64 = 5.0;

pub struct Tiles {
    /// Width and height of a page as it is turned.
    pub paper: [f64; 2],
    columns: usize,
    rows: usize,
    /// Lower left corner of the lowest left page's window, on the sheet.
    origin: [f64; 2],
}

/// One page's window on the sheet.
pub struct Tile {
    /// From 1, as one reads: from the top left.
    pub number: usize,
    /// On the sheet, mm.
    pub shown: Rect,
    column: usize,
    /// From below.
    row: usize,
}

/// Where two pages meet, on the sheet.
pub struct Join {
    pub pages: [usize; 2],
    pub line: [Point; 2],
    pub marks: [Point; 2],
}

impl Tiles {
    /// Over `sheet`, on upright or lying pages, whichever are fewer.
    pub fn over(sheet: Rect, paper: [f64; 2]) -> Self {
        let upright = Tiles::on(sheet, paper);
        let lying = Tiles::on(sheet, [paper[1], paper[0]]);
        if lying.count() < upright.count() { lying } else { upright }
    }

    fn on(sheet: Rect, paper: [f64; 2]) -> Self {
        let sides = [sheet.width(), sheet.height()].map(|side| side + 2.0 * AROUND);
        let mut counts = [1, 1];
        let mut origin = [sheet.x0, sheet.y0];
        for axis in 0..2 {
            let (frame, step) = reach(paper[axis]);
            let more = ((sides[axis] - frame) / step).ceil().max(0.0);
            counts[axis] = 1 + more as usize;
            // In the middle of its pages, on a whole tenth of a millimetre: that is how pages are labelled.
            let spare = frame + more * step - sides[axis];
            origin[axis] = ((origin[axis] - AROUND - spare / 2.0) * 10.0).round() / 10.0;
        }
        Tiles { paper, columns: counts[0], rows: counts[1], origin }
    }

    pub fn count(&self) -> usize {
        self.columns * self.rows
    }

    pub fn all(&self) -> Vec<Tile> {
        let places = (0..self.rows).rev().flat_map(|row| (0..self.columns).map(move |c| (c, row)));
        places.map(|(column, row)| self.tile(column, row)).collect()
    }

    /// All that the pages show together.
    pub fn bounds(&self) -> Rect {
        self.tile(0, 0).shown.union(self.tile(self.columns - 1, self.rows - 1).shown)
    }

    fn tile(&self, column: usize, row: usize) -> Tile {
        let [(width, across), (height, up)] = self.paper.map(reach);
        let corner = (self.origin[0] + column as f64 * across, self.origin[1] + row as f64 * up);
        Tile {
            number: (self.rows - 1 - row) * self.columns + column + 1,
            shown: Rect::from_origin_size(corner, (width, height)),
            column,
            row,
        }
    }

    /// Where a page meets its neighbours: at its left and below it is cut, at its right and above it is
    /// laid upon.
    pub fn joins(&self, tile: &Tile) -> Vec<Join> {
        let Tile { column, row, .. } = *tile;
        let mut joins = Vec::new();
        if column > 0 {
            joins.push(Join::beside(&self.tile(column - 1, row), tile));
        }
        if column + 1 < self.columns {
            joins.push(Join::beside(tile, &self.tile(column + 1, row)));
        }
        if row > 0 {
            joins.push(Join::above(&self.tile(column, row - 1), tile));
        }
        if row + 1 < self.rows {
            joins.push(Join::above(tile, &self.tile(column, row + 1)));
        }
        joins
    }
}

impl Join {
    /// `right` is cut at its left edge and laid on `left`.
    fn beside(left: &Tile, right: &Tile) -> Self {
        let (x, [low, high]) = (right.shown.x0, [right.shown.y0, right.shown.y1]);
        let at = |part: f64| Point::new(x, low + (high - low) * part);
        Join {
            pages: [left.number, right.number],
            line: [at(0.0), at(1.0)],
            marks: [at(0.2), at(0.8)],
        }
    }

    /// `upper` is cut at its lower edge and laid on `lower`.
    fn above(lower: &Tile, upper: &Tile) -> Self {
        let (y, [left, right]) = (upper.shown.y0, [upper.shown.x0, upper.shown.x1]);
        let at = |part: f64| Point::new(left + (right - left) * part, y);
        Join {
            pages: [upper.number, lower.number],
            line: [at(0.0), at(1.0)],
            marks: [at(0.2), at(0.8)],
        }
    }
}

/// How much of a page's side is drawn on, and how far on the next page begins.
fn reach(side: f64) -> (f64, f64) {
    let frame = side - 2.0 * MARGIN;
    (frame, frame - OVERLAP)
}
