//! The conversation, line by line: over any reader and writer.

use super::{Interview, Kind, Question, paper};
use crate::{show, units::Unit};
use std::io::{self, BufRead, Write};

/// How a conversation ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// Everything is answered, and the job may be written.
    Done,
    /// The person stopped; what was answered is kept.
    Stopped,
}

const HELP: &str = "\
  Enter         takes what stands in [brackets]
  back          goes back one question
  fit           shows the fit so far
  stop          stops; the answers are kept, and the same command goes on with them
  Lengths: 840, 84 cm, 33 1/16 in, 7-1/4 in, 36 line (buttons). A bare number is in your unit.
";

/// Asks until everything is answered. `keep` is called after every change, so that nothing is lost.
pub fn talk(
    interview: &mut Interview,
    from: &mut impl BufRead,
    to: &mut impl Write,
    keep: &mut dyn FnMut(&Interview) -> io::Result<()>,
) -> io::Result<Ended> {
    writeln!(to, "One question at a time. Enter takes what stands in [brackets]; type")?;
    writeln!(to, "`back` to go back, `stop` to go on another day, `?` for help.")?;
    let mut shown = Shown::default();
    loop {
        let question = interview.next();
        match question {
            Some(question) => ask(interview, question, to)?,
            None => {
                shown.fit(interview, to)?;
                write!(
                    to,
                    "\nThat is all. Enter writes the job file, `back` changes the last answer > "
                )?;
            }
        }
        to.flush()?;
        let mut line = String::new();
        if from.read_line(&mut line)? == 0 {
            writeln!(to)?;
            return Ok(Ended::Stopped);
        }
        match (line.trim(), question) {
            ("stop" | "quit" | "exit", _) => return Ok(Ended::Stopped),
            ("?" | "help", _) => write!(to, "{HELP}")?,
            ("fit", _) => {
                shown = Shown::default();
                shown.fit(interview, to)?;
                if interview.fit().is_none() {
                    writeln!(to, "  The fit is known once the diamonds are.")?;
                }
            }
            ("back", _) => {
                if !interview.back() {
                    writeln!(to, "  This is the first question.")?;
                }
                keep(interview)?;
            }
            ("", None) => return Ok(Ended::Done),
            (_, None) => writeln!(to, "  Enter, `back` or `stop`.")?,
            (typed, Some(question)) => {
                let offer = interview.offer(question);
                let Some(answer) = Some(typed.to_string()).filter(|t| !t.is_empty()).or(offer)
                else {
                    writeln!(to, "  Only you know this: there is nothing that Enter could take.")?;
                    continue;
                };
                match interview.answer(question, &answer) {
                    Ok(()) => {
                        keep(interview)?;
                        shown.fit(interview, to)?;
                    }
                    Err(why) => writeln!(to, "  Not so: {why}.")?,
                }
            }
        }
    }
}

fn ask(interview: &Interview, question: &Question, to: &mut impl Write) -> io::Result<()> {
    let (at, of) = interview.progress(question);
    writeln!(to, "\n{} ({at} of {of})", question.asks)?;
    writeln!(to, "  {}", question.explains)?;
    if let Some(hint) = interview.hint(question) {
        writeln!(to, "  {hint}")?;
    }
    let offer = interview.offer(question);
    let choices = interview.choices(question);
    let widest = choices.iter().map(|(word, _)| word.len()).max().unwrap_or(0);
    for (i, (word, means)) in choices.iter().enumerate() {
        writeln!(to, "  {:>2}  {word:<widest$}  {means}", i + 1)?;
    }
    let unit = match question.kind {
        Kind::Length | Kind::Edges | Kind::SizeOrCount { .. } => interview.unit_word(),
        _ => "",
    };
    let offered = offer.map(|offer| format!("[{offer}] ")).unwrap_or_default();
    let unit = unit_beside(unit, &offered);
    write!(to, "{unit}{offered}> ")
}

/// The unit stands before a bare number, not before one that has its own.
fn unit_beside(unit: &str, offered: &str) -> String {
    let own =
        offered.contains("line") || paper::count(offered.trim_matches(['[', ']', ' '])).is_some();
    if unit.is_empty() || own { String::new() } else { format!("{unit} ") }
}

/// What was shown of the fit, so that only news is shown.
#[derive(Default)]
struct Shown {
    fit: String,
    warnings: Vec<String>,
}

impl Shown {
    fn fit(&mut self, interview: &Interview, to: &mut impl Write) -> io::Result<()> {
        let Some((job, layout)) = interview.fit() else { return Ok(()) };
        let fit = show::fit_in_short(&job, &layout);
        if fit != self.fit {
            writeln!(to, "\n{}", fit.trim_end())?;
        }
        for warning in layout.warnings.iter().filter(|w| !self.warnings.contains(w)) {
            writeln!(to, "  Note: {warning}")?;
        }
        self.fit = fit;
        self.warnings = layout.warnings;
        Ok(())
    }
}

impl Interview<'_> {
    fn unit_word(&self) -> &'static str {
        if self.answers.unit() == Unit::Inch { "in" } else { "mm" }
    }

    /// Which question this is, and of how many by what is known now.
    fn progress(&self, question: &Question) -> (usize, usize) {
        let before = self.asked().take_while(|asked| asked.word != question.word).count();
        (before + 1, self.asked().count())
    }

    /// What the layout knows about an answer before it is given.
    fn hint(&self, question: &Question) -> Option<String> {
        let axis = match question.word {
            "allowance-across" => 0,
            "allowance-down" => 1,
            _ => return None,
        };
        let (job, layout) = self.fit()?;
        let bounds = layout.cover.bounds[axis];
        let [least, most] =
            [bounds.least, bounds.most].map(|mm| crate::words::length(mm, job.unit));
        Some(format!(
            "By the formula it takes at least {least} to reach the button, and {most} is all that fits."
        ))
    }
}
