//! Pens that are moved by words for the controller.

use super::PenState;
use crate::{
    gcode::{Block, letters},
    machine::{Lift, Machine},
};

/// A letter and its number.
type Word = (u8, f64);

/// The words of the machine file that lift the pen and set it down; empty where it moves otherwise.
#[derive(Debug, Default)]
pub(super) struct Words {
    up: Vec<Word>,
    down: Vec<Word>,
}

impl Words {
    pub fn of(machine: &Machine) -> Self {
        match machine.pen.as_ref().map(|pen| &pen.lift) {
            Some(Lift::Words { up, down }) => Words { up: read(up), down: read(down) },
            _ => Words::default(),
        }
    }

    /// Is the pen moved by words?
    pub fn any(&self) -> bool {
        !self.up.is_empty()
    }

    pub fn m_numbers(&self) -> Vec<u16> {
        let both = self.up.iter().chain(&self.down);
        both.filter(|(letter, _)| *letter == b'M').map(|(_, number)| *number as u16).collect()
    }

    /// Letters that these words use besides M.
    pub fn letters(&self) -> u32 {
        let both = self.up.iter().chain(&self.down);
        both.fold(0, |set, (letter, _)| set | letters(&[*letter]))
    }

    /// Where the line moves the pen, if it does. Where the words of one are among those of the other,
    /// the longer ones count.
    pub fn said(&self, block: &Block) -> Option<PenState> {
        let up = says(block, &self.up);
        let down = says(block, &self.down);
        match (up, down) {
            (true, true) if self.up.len() > self.down.len() => Some(PenState::Up),
            (_, true) => Some(PenState::Down),
            (true, false) => Some(PenState::Up),
            (false, false) => None,
        }
    }
}

fn says(block: &Block, words: &[Word]) -> bool {
    !words.is_empty()
        && words.iter().all(|&(letter, number)| match letter {
            b'M' => block.m.iter().flatten().any(|m| f64::from(*m) == number),
            b'G' => false,
            _ => block.word(letter) == Some(number),
        })
}

/// The machine file's reader has seen to it that each is a letter and a number.
fn read(words: &str) -> Vec<Word> {
    let word = |text: &str| {
        let letter = text.bytes().next()?.to_ascii_uppercase();
        Some((letter, text.get(1..)?.parse().ok()?))
    };
    words.split_ascii_whitespace().filter_map(word).collect()
}
