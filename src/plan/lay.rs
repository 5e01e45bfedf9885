//! How a sheet lies in one set-up, in whole micrometres, so that every set-up rounds alike.

use super::Um;

/// How a sheet is turned from the way in which the layout has it, seen from above: by quarters, and, where it
/// is drilled through, also turned over like a page, about its upright middle, and then by quarters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Turn {
    Not,
    /// End for end.
    Half,
    /// Anticlockwise: its right side comes to lie away from the person.
    Quarter,
    ThreeQuarters,
    /// Turned over: left and right exchanged.
    Over,
    OverHalf,
    OverQuarter,
    OverThreeQuarters,
}

impl Turn {
    /// The same face up.
    pub const LEVEL: [Turn; 4] = [Turn::Not, Turn::Half, Turn::Quarter, Turn::ThreeQuarters];
    /// Either face up.
    pub const EITHER: [Turn; 8] = [
        Turn::Not,
        Turn::Half,
        Turn::Quarter,
        Turn::ThreeQuarters,
        Turn::Over,
        Turn::OverHalf,
        Turn::OverQuarter,
        Turn::OverThreeQuarters,
    ];

    /// Is the other face up?
    pub const fn is_over(self) -> bool {
        matches!(self, Turn::Over | Turn::OverHalf | Turn::OverQuarter | Turn::OverThreeQuarters)
    }

    /// In words for the person who lays it down; nothing where it is not turned. Sides are those of the sheet
    /// as the first picture has it.
    pub const fn word(self) -> &'static str {
        match self {
            Turn::Not => "",
            Turn::Quarter => "turned a quarter anticlockwise, its right side away from you",
            Turn::Half => "turned end for end, its top towards you",
            Turn::ThreeQuarters => "turned a quarter clockwise, its left side away from you",
            Turn::Over => {
                "turned over like a page, left and right exchanged, its top still away from you"
            }
            Turn::OverHalf => {
                "turned over from top to bottom, its top towards you, left still on the left"
            }
            Turn::OverQuarter => "turned over, its left side away from you and its top to the left",
            Turn::OverThreeQuarters => {
                "turned over, its right side away from you and its top to the right"
            }
        }
    }
}

/// From places on a sheet to places of a program: a turn, then a shift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lay {
    pub turn: Turn,
    /// Where the lower left corner of the sheet, as it lies, is seen from X0 Y0.
    pub corner: [Um; 2],
    /// Width and height of the sheet before it is turned.
    pub sheet: [Um; 2],
}

impl Lay {
    /// Not turned, with its lower left corner at X0 Y0.
    pub const fn plain(sheet: [Um; 2]) -> Self {
        Lay { turn: Turn::Not, corner: [0, 0], sheet }
    }

    /// Width and height as it lies.
    pub const fn size(&self) -> [Um; 2] {
        let [w, h] = self.sheet;
        match self.turn {
            Turn::Not | Turn::Half | Turn::Over | Turn::OverHalf => [w, h],
            Turn::Quarter | Turn::ThreeQuarters | Turn::OverQuarter | Turn::OverThreeQuarters => {
                [h, w]
            }
        }
    }

    /// A place on the sheet as the program has it.
    pub const fn place(&self, [x, y]: [Um; 2]) -> [Um; 2] {
        let [w, h] = self.sheet;
        let [a, b] = match self.turn {
            Turn::Not => [x, y],
            Turn::Quarter => [h - y, x],
            Turn::Half => [w - x, h - y],
            Turn::ThreeQuarters => [y, w - x],
            Turn::Over => [w - x, y],
            Turn::OverQuarter => [h - y, w - x],
            Turn::OverHalf => [x, h - y],
            Turn::OverThreeQuarters => [y, x],
        };
        [a + self.corner[0], b + self.corner[1]]
    }

    /// A place of the program, on the sheet.
    pub const fn back(&self, [x, y]: [Um; 2]) -> [Um; 2] {
        let [w, h] = self.sheet;
        let [a, b] = [x - self.corner[0], y - self.corner[1]];
        match self.turn {
            Turn::Not => [a, b],
            Turn::Quarter => [b, h - a],
            Turn::Half => [w - a, h - b],
            Turn::ThreeQuarters => [w - b, a],
            Turn::Over => [w - a, b],
            Turn::OverQuarter => [w - b, h - a],
            Turn::OverHalf => [a, h - b],
            Turn::OverThreeQuarters => [b, a],
        }
    }

    /// How far the sheet lies over the left, right, near and far side of a bed whose lower left corner is
    /// at `low` and whose upper right corner is at `high`, seen from X0 Y0.
    pub fn over(&self, low: [Um; 2], high: [Um; 2]) -> [Um; 4] {
        let ([x, y], [w, h]) = (self.corner, self.size());
        [low[0] - x, x + w - high[0], low[1] - y, y + h - high[1]].map(|over| over.max(0))
    }
}
