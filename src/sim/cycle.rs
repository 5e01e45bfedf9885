//! Drilling cycles, spelled out as the moves they make (IR 6556, pages 30 to 36).

use crate::gcode::{
    Block, Cycle, Distance, LanguageRule as Rule, Refusal, Refused, Retract, whole,
};

/// After a peck the tool comes back to this far above the last depth, mm: 0.010 in.
const PECK_GAP: f64 = 0.254;

/// No cycle line that anybody means makes more moves than this.
const MOST_MOVES: f64 = 100_000.0;

/// What a cycle keeps for the next line of the same cycle, mm and the program's seconds.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Sticky {
    /// The words of the upright axis and R, as they were written.
    depth: Option<f64>,
    retract: Option<f64>,
    wait: Option<f64>,
    peck: Option<f64>,
    /// First and second axis in G91, mm: the standard's own interpreter repeats a step that a line of the
    /// same cycle leaves out (its listing of appendix C shows it), though its text does not say so.
    step: [f64; 2],
}

/// One move of a cycle, in the program's own coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Act {
    Rapid([f64; 3]),
    Feed([f64; 3]),
    /// In the unit of the program's P.
    Wait(f64),
}

/// Where a cycle is run.
pub(super) struct Stage {
    pub cycle: Cycle,
    /// First, second and upright axis.
    pub axes: [usize; 3],
    pub at: [f64; 3],
    pub distance: Distance,
    pub retract: Retract,
    /// mm in one unit of the program.
    pub unit: f64,
}

#[cold]
fn refuse<T>(rule: Rule, message: String) -> Result<T, Refused> {
    Err(Box::new(Refusal { rule, line: 0, column: 0, message }))
}

impl Stage {
    /// Hands each move to `act`. `sticky` holds what lines before it left, and takes up this one's.
    pub fn run(
        &self,
        block: &Block,
        sticky: &mut Sticky,
        mut act: impl FnMut(Act),
    ) -> Result<(), Refused> {
        let [a, b, c] = self.axes;
        let letter = |axis: usize| [b'X', b'Y', b'Z'][axis];
        let length = |letter: u8| block.word(letter).map(|value| value * self.unit);
        sticky.depth = length(letter(c)).or(sticky.depth);
        sticky.retract = length(b'R').or(sticky.retract);
        sticky.wait = block.word(b'P').or(sticky.wait);
        sticky.peck = length(b'Q').or(sticky.peck);
        let missing = |word: char| {
            refuse(
                Rule::CycleWordMissing,
                format!("the drilling cycle needs {word} at its first use"),
            )
        };
        let Some(depth) = sticky.depth else { return missing(char::from(letter(c))) };
        let Some(retract) = sticky.retract else { return missing('R') };
        let wait = match (self.cycle, sticky.wait) {
            (Cycle::DrillAndWait, None) => return missing('P'),
            (Cycle::DrillAndWait, wait) => wait,
            _ => None,
        };
        let peck = match (self.cycle, sticky.peck) {
            (Cycle::Peck, None) => return missing('Q'),
            (Cycle::Peck, Some(peck)) if peck <= 0.0 => {
                return refuse(
                    Rule::CycleCount,
                    "Q, the depth of a peck, is not above nought".into(),
                );
            }
            (Cycle::Peck, peck) => peck,
            _ => None,
        };
        let times = match block.word(b'L').map(whole) {
            None => 1,
            Some(Some(times)) if times > 0 => times,
            Some(_) => {
                return refuse(Rule::CycleCount, "L is not a whole number above nought".into());
            }
        };
        let (retract, bottom, step) = match self.distance {
            Distance::Absolute => (retract, depth, [0.0; 2]),
            Distance::Incremental => {
                let retract = retract + self.at[c];
                let step = [0, 1].map(|i| length(letter([a, b][i])).unwrap_or(sticky.step[i]));
                sticky.step = step;
                (retract, retract + depth, step)
            }
        };
        if retract < bottom {
            return refuse(
                Rule::CycleUpsideDown,
                "R, the retract height, is below the depth".into(),
            );
        }
        let pecks = peck.map_or(1.0, |peck| ((retract - bottom) / peck).ceil().max(1.0));
        if times as f64 * pecks > MOST_MOVES {
            return refuse(
                Rule::NotRehearsed,
                format!("one line makes {:.0} pecks, which nobody means", times as f64 * pecks),
            );
        }

        let mut place = self.at;
        let mut height = self.at[c];
        let at = |place: [f64; 3], height: f64| {
            let mut place = place;
            place[c] = height;
            place
        };
        if height < retract {
            height = retract;
            act(Act::Rapid(at(place, height)));
        }
        let out = match self.retract {
            Retract::OldHeight => height,
            Retract::RHeight => retract,
        };
        for _ in 0..times {
            for (i, axis) in [a, b].into_iter().enumerate() {
                place[axis] = match self.distance {
                    Distance::Absolute => length(letter(axis)).unwrap_or(place[axis]),
                    Distance::Incremental => place[axis] + step[i],
                };
            }
            act(Act::Rapid(at(place, height)));
            if height != retract {
                act(Act::Rapid(at(place, retract)));
            }
            if let Some(peck) = peck {
                let mut depth = retract - peck;
                while depth > bottom {
                    act(Act::Feed(at(place, depth)));
                    act(Act::Rapid(at(place, retract)));
                    act(Act::Rapid(at(place, depth + PECK_GAP)));
                    depth -= peck;
                }
            }
            act(Act::Feed(at(place, bottom)));
            if let Some(wait) = wait {
                act(Act::Wait(wait));
            }
            act(Act::Rapid(at(place, out)));
            height = out;
        }
        Ok(())
    }
}
