//! Dimension lines: a line with a tick at each end, and its length in words.

use super::{Anchor, Drawing, Shape, Stand, Style, Turn, Words, polyline};
use kurbo::BezPath;

/// Where a dimension's letters stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Letters {
    /// On the middle of its line.
    On,
    /// Past its end, for a line shorter than its letters.
    Beside,
}

impl Drawing {
    /// From left to right at height `y`; `says` puts the length into words.
    pub fn across(
        &mut self,
        [from, to]: [f64; 2],
        y: f64,
        letters: Letters,
        says: &dyn Fn(f64) -> String,
    ) {
        let (t, tick) = (self.letter, 0.5 * self.letter);
        let mut path = BezPath::new();
        polyline(&mut path, &[[from, y], [to, y]]);
        for x in [from, to] {
            polyline(&mut path, &[[x, y - tick], [x, y + tick]]);
        }
        self.path(Style::Size, path);
        let text = says(to - from);
        let (at, anchor) = match self.fits(&text, to - from, letters) {
            Letters::On => ([(from + to) / 2.0, y], Anchor::Middle),
            Letters::Beside => ([to + 0.6 * t, y], Anchor::Start),
        };
        self.size(at, anchor, Turn::Level, text);
    }

    /// From below upwards at `x`.
    pub fn up(
        &mut self,
        [from, to]: [f64; 2],
        x: f64,
        letters: Letters,
        says: &dyn Fn(f64) -> String,
    ) {
        let (t, tick) = (self.letter, 0.5 * self.letter);
        let mut path = BezPath::new();
        polyline(&mut path, &[[x, from], [x, to]]);
        for y in [from, to] {
            polyline(&mut path, &[[x - tick, y], [x + tick, y]]);
        }
        self.path(Style::Size, path);
        let text = says(to - from);
        let (at, anchor) = match self.fits(&text, to - from, letters) {
            Letters::On => ([x, (from + to) / 2.0], Anchor::Middle),
            // Towards the middle of the panel, where there is room.
            Letters::Beside if to > 0.0 => ([x, from - 0.6 * t], Anchor::End),
            Letters::Beside => ([x, to + 0.6 * t], Anchor::Start),
        };
        self.size(at, anchor, Turn::Up, text);
    }

    /// Letters longer than their line stand beside it: a letter is about half as wide as high.
    fn fits(&self, text: &str, length: f64, wanted: Letters) -> Letters {
        let long = text.chars().count() as f64 * self.letter * 0.55;
        if long > length { Letters::Beside } else { wanted }
    }

    fn size(&mut self, at: [f64; 2], anchor: Anchor, turn: Turn, text: String) {
        self.shapes.push(Shape::Words(Words {
            style: Style::Size,
            size: self.letter,
            anchor,
            turn,
            stand: Stand::Middle,
            words: vec![(at, text)],
        }));
    }
}
