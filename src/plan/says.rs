//! What a person does before one program, in sentences: the same in its head, in the preview and on the sheet.

use super::{Dowel, Plan, Setup, TOP_OF_FOAM, Turn, Um, mm};
use crate::{machine::Work, units::Unit};

impl Plan {
    /// How the sheet is laid down. Empty for a sheet that lies with its corner at X0 Y0 and is made in one go.
    pub fn laid_down(&self) -> Vec<String> {
        let Setup { number, of, lay, .. } = &self.setup;
        let mut says = Vec::new();
        if self.top == TOP_OF_FOAM {
            says.push(
                "The foam's own holes are cut before: the bit goes through them, and Z0 is the top of the FOAM."
                    .to_string(),
            );
        }
        if *of == 1 && lay.turn == Turn::Not && lay.corner == [0, 0] {
            return says;
        }
        if *of > 1 {
            says.push(format!("Set-up {number} of {of}."));
        }
        if lay.turn != Turn::Not {
            says.push(format!("The {} lies {}.", self.work, lay.turn.word()));
        }
        match (self.setup.dowels, number) {
            (Some([a, b]), 2..) => {
                says.push("Leave X0 and Y0 as they are.".to_string());
                says.push(format!(
                    "Drop hole {} onto the dowel at {} and hole {} onto the dowel at {}.",
                    a.hole,
                    self.on_bed(a.at),
                    b.hole,
                    self.on_bed(b.at)
                ));
                says.push(format!("Then {}.", self.hangs()));
                if !self.setup.moved.is_empty() {
                    says.push(format!("{}.", self.setup.moved));
                }
            }
            (None, 2..) if self.work == Work::Fabric => {
                says.push("Leave X0 and Y0 as they are.".to_string());
                says.push(format!(
                    "{}: the pen stops over two places, and the two crosses drawn last must lie there.",
                    self.setup.moved
                ));
            }
            _ => says.push(format!("Lay it so that {}.", self.hangs())),
        }
        if self.work == Work::Foam {
            says.extend(self.centre_lines());
        }
        if self.setup.over != [0; 4] && self.work != Work::Fabric {
            says.push(
                "Support what lies over, level with the spoilboard, clear of all that moves."
                    .into(),
            );
        }
        if self.setup.dowels.is_some() && number == of {
            says.push("When it is done, take both dowels out of the spoilboard.".to_string());
        }
        if let (Some([a, b]), 1) = (self.setup.dowels, number) {
            says.push(format!(
                "Holes {} and {} go on {} into the spoilboard, for the dowels.",
                a.hole,
                b.hole,
                self.length(a.depth)
            ));
            says.push(format!("Afterwards put two dowels there: {}.", self.dowel(&a)));
        }
        says
    }

    /// What one dowel is, for those who cut it.
    fn dowel(&self, dowel: &Dowel) -> String {
        // A millimetre lower than the board's top, so that nothing touches it.
        let longest = dowel.depth + dowel.through - 1000;
        format!(
            "{} thick, at most {} long. The shank of the bit is as thick as its hole",
            self.length(dowel.diameter),
            self.length(longest)
        )
    }

    /// Where the sheet's edges are.
    fn hangs(&self) -> String {
        let sides = ["left", "right", "near", "far"];
        let over: Vec<String> = sides
            .iter()
            .zip(self.setup.over)
            .filter(|(_, over)| *over > 0)
            .map(|(side, over)| format!("{} over the {side} side", self.length(over)))
            .collect();
        let [x, y] = [0, 1].map(|axis| self.setup.lay.corner[axis] + self.setup.zero[axis]);
        let mut parts = Vec::new();
        if self.setup.over[0] == 0 {
            parts.push(format!("its left edge is at X {} of the bed", self.place(x)));
        }
        if self.setup.over[2] == 0 {
            parts.push(format!("its near edge is at Y {} of the bed", self.place(y)));
        }
        if !over.is_empty() {
            parts.push(format!("it lies {}", over.join(" and ")));
        }
        parts.join(" and ")
    }

    /// Where the middle of the sheet is on the bed: foam sheets vary in size, so their middle counts. Where it lies over
    /// the bed's side, a line beside it is drawn on the foam, in the middle of what lies on the bed.
    fn centre_lines(&self) -> Vec<String> {
        let Setup { lay, zero, over, .. } = &self.setup;
        let mut draw = Vec::new();
        let at = [0, 1].map(|axis| {
            let size = lay.size()[axis];
            let [before, after] = [over[2 * axis], over[2 * axis + 1]];
            let begin = lay.corner[axis] + zero[axis];
            let middle = begin + size / 2;
            if (before..=size - after).contains(&(size / 2)) {
                return ("centre line", middle);
            }
            // Whole tens of millimetres are marked with a tape.
            let aside = ((before + size - after) / 2 - size / 2) / 10_000 * 10_000;
            let (line, [less, more]) =
                [("upright", ["left", "right"]), ("level", ["near", "far"])][axis];
            let side = if aside < 0 { less } else { more };
            draw.push(format!(
                "draw a line on it {} to the {side} side of its {line} centre line",
                self.length(aside.abs())
            ));
            ("line beside its centre line", middle + aside)
        });
        let [(upright, x), (level, y)] = at;
        let mut says = vec![format!(
            "Foam varies in size, so go by the middle of the sheet: its upright {upright} at X {}, its level {level} at Y {} of the bed.",
            self.place(x),
            self.place(y)
        )];
        if !draw.is_empty() {
            says.insert(
                0,
                format!("The middle of the foam lies beside the bed: {}.", draw.join(", and ")),
            );
        }
        says
    }

    fn on_bed(&self, at: [Um; 2]) -> String {
        let [x, y] = [0, 1].map(|axis| self.place(at[axis] + self.setup.zero[axis]));
        format!("X {x} Y {y}")
    }

    /// What goes wrong slowly: play that adds up to more than the job allows, mm.
    pub fn over_tolerance(&self, tolerance: f64) -> Option<String> {
        let (thing, off) = self.setup.worst.filter(|(_, off)| *off > tolerance)?;
        Some(format!(
            "In set-up {} of the {} the play of the dowels may put {thing} {} off, more than the {} of `tolerance`: \
             use tighter dowels and state their `dowel_play`, or a larger machine.",
            self.setup.number,
            self.work,
            fine(off, self.unit),
            fine(tolerance, self.unit)
        ))
    }

    /// A place on the bed in the person's unit; millimetres need not be said.
    fn place(&self, um: Um) -> String {
        match self.unit {
            Unit::Inch => self.length(um),
            _ => tenths(mm(um)),
        }
    }

    /// A length in the person's unit, as well as a sheet is laid by hand.
    fn length(&self, um: Um) -> String {
        match self.unit {
            Unit::Inch => format!("{} in", hundredths(mm(um) / Unit::Inch.mm())),
            _ => format!("{} mm", tenths(mm(um))),
        }
    }
}

fn tenths(n: f64) -> String {
    format!("{}", (n * 10.0).round() / 10.0 + 0.0)
}

fn hundredths(n: f64) -> String {
    format!("{}", (n * 100.0).round() / 100.0 + 0.0)
}

/// How far off something may be, mm, in the person's unit.
fn fine(off: f64, unit: Unit) -> String {
    match unit {
        Unit::Inch => format!("{} in", (off / Unit::Inch.mm() * 1000.0).round() / 1000.0),
        _ => format!("{} mm", hundredths(off)),
    }
}
