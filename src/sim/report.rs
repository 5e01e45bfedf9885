//! What was found, kept small however much there is.

use super::rules::{DangerRule, Doubt, Rule};
use crate::gcode::Refusal;

/// How many faults are kept; the rest are counted.
pub const LISTED: usize = 1_000;

/// A broken rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    pub rule: Rule,
    /// Counted from 1.
    pub line: u64,
    /// Plain words, without the line.
    pub message: String,
}

/// Something to know although no rule is broken.
#[derive(Debug, Clone, PartialEq)]
pub struct Warning {
    pub doubt: Doubt,
    /// The first line that gives cause for it.
    pub line: u64,
    pub message: String,
}

#[derive(Debug, Default)]
pub(super) struct Report {
    pub faults: Vec<Fault>,
    pub unlisted: u64,
    pub warnings: Vec<Warning>,
    /// The last line that broke a rule, and which ones it broke.
    line: u64,
    broken: u64,
    doubted: u64,
}

impl Report {
    /// Notes a danger, once for each line and rule.
    #[cold]
    pub fn danger(&mut self, rule: DangerRule, line: u64, message: impl FnOnce() -> String) {
        if line != self.line {
            (self.line, self.broken) = (line, 0);
        }
        let bit = 1 << rule as u32;
        if self.broken & bit != 0 {
            return;
        }
        self.broken |= bit;
        if self.faults.len() < LISTED {
            self.faults.push(Fault { rule: Rule::Danger(rule), line, message: message() });
        } else {
            self.unlisted += 1;
        }
    }

    /// Notes a danger of an earlier line, in the order of lines.
    #[cold]
    pub fn late_danger(&mut self, rule: DangerRule, line: u64, message: impl FnOnce() -> String) {
        if self.faults.len() == LISTED {
            self.unlisted += 1;
            return;
        }
        let place = self.faults.partition_point(|fault| fault.line <= line);
        self.faults.insert(place, Fault { rule: Rule::Danger(rule), line, message: message() });
    }

    /// A refusal is the last fault there is, and is always listed.
    pub fn refusal(&mut self, refusal: Refusal) {
        let Refusal { rule, line, column, mut message } = refusal;
        if column > 0 {
            message.push_str(&format!(" (column {column})"));
        }
        self.faults.push(Fault { rule: Rule::Language(rule), line, message });
    }

    /// Notes a doubt, once for the whole program.
    #[inline]
    pub fn doubt(&mut self, doubt: Doubt, line: u64, message: impl FnOnce() -> String) {
        let bit = 1 << doubt as u32;
        if self.doubted & bit == 0 {
            self.doubted |= bit;
            self.warnings.push(Warning { doubt, line, message: message() });
        }
    }
}

// The sets above are words of 64 bits.
const _: () = assert!(DangerRule::ALL.len() <= 64 && Doubt::ALL.len() <= 64);
