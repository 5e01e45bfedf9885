//! Questions at the terminal: each says how to find the answer, and asks again until it can be used.

use crate::units::{self, Unit};
use std::io::{self, BufRead};

/// Asks on standard error, so that standard output stays for results; reads standard input.
pub struct Ask<R> {
    answers: R,
    /// The unit of bare numbers.
    pub unit: Unit,
}

/// Nobody is there to answer any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Silence;

impl Ask<io::StdinLock<'static>> {
    pub fn at_terminal() -> Self {
        Ask { answers: io::stdin().lock(), unit: Unit::Millimetre }
    }
}

impl<R: BufRead> Ask<R> {
    /// One line; `otherwise` is what an empty one means.
    pub fn text(&mut self, question: &str, otherwise: &str) -> Result<String, Silence> {
        self.until(question, otherwise, |answer| match answer {
            "" => Err("write a few words".to_string()),
            some => Ok(some.to_string()),
        })
    }

    pub fn yes(&mut self, question: &str, otherwise: bool) -> Result<bool, Silence> {
        self.until(question, if otherwise { "yes" } else { "no" }, |answer| {
            match answer.to_ascii_lowercase().as_str() {
                "y" | "yes" => Ok(true),
                "n" | "no" => Ok(false),
                _ => Err("write yes or no".to_string()),
            }
        })
    }

    /// One word of a few, the first by default.
    pub fn choice(
        &mut self,
        question: &str,
        words: &[&'static str],
    ) -> Result<&'static str, Silence> {
        let question = format!("{question} ({})", words.join(", "));
        self.until(&question, words[0], |answer| {
            let found = words.iter().find(|word| word.eq_ignore_ascii_case(answer));
            found.copied().ok_or_else(|| format!("write one of: {}", words.join(", ")))
        })
    }

    /// A length in mm, more than nought.
    pub fn length(&mut self, question: &str, otherwise: &str) -> Result<f64, Silence> {
        let unit = self.unit;
        self.until(question, otherwise, |answer| {
            units::length(answer, unit)
                .filter(|mm| *mm > 0.0 && *mm <= crate::form::LONGEST)
                .ok_or_else(|| "write a length, such as 600, \"600 mm\" or \"24 in\"".to_string())
        })
    }

    /// A length in mm, or nought.
    pub fn length_or_none(&mut self, question: &str) -> Result<f64, Silence> {
        let unit = self.unit;
        self.until(question, "0", |answer| {
            units::length(answer, unit)
                .filter(|mm| (0.0..=crate::form::LONGEST).contains(mm))
                .ok_or_else(|| "write a length, such as 120 or \"5 in\", or 0".to_string())
        })
    }

    pub fn number(&mut self, question: &str, otherwise: &str) -> Result<f64, Silence> {
        self.until(question, otherwise, |answer| {
            let number = answer.parse::<f64>().ok().filter(|n| n.is_finite() && *n > 0.0);
            number.ok_or_else(|| "write a number, such as 3000".to_string())
        })
    }

    fn until<T>(
        &mut self,
        question: &str,
        otherwise: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<T, Silence> {
        loop {
            let shown =
                if otherwise.is_empty() { String::new() } else { format!(" [{otherwise}]") };
            super::complain(&format!("{question}{shown}: "));
            let mut line = String::new();
            match self.answers.read_line(&mut line) {
                Ok(0) | Err(_) => return Err(Silence),
                Ok(_) => {}
            }
            let answer = line.trim();
            match read(if answer.is_empty() { otherwise } else { answer }) {
                Ok(value) => return Ok(value),
                Err(help) => super::complain(&format!("  {help}\n")),
            }
        }
    }
}
