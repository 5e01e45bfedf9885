//! A job file by question and answer: what a person can measure with a tape, one thing at a time.
//!
//! Every answer is tried at once: it is put into a job file, together with stand-ins for what is not
//! known yet, and the reader of job files and the layout say what they think of it. So the questions
//! hold no second set of rules, and what comes out at the end is a job that `make` takes.

mod paper;
mod questions;
mod talk;

pub use questions::{Kind, Offer, QUESTIONS, Question};
pub use talk::{Ended, talk};

use crate::{
    diag::{Diagnostic, Source},
    form,
    job::{self, Job, Shape},
    layout::{self, Layout},
    machine::{Machine, Work},
    plan,
    route::Effort,
    units::{self, Unit},
    words,
};
use questions::{AS_IT_IS, KEEP, NONE, WHOLE};
use std::collections::BTreeMap;
use toml_edit::DocumentMut;

/// How many of the nearest whole fits are offered.
const CHOICES: usize = 6;

/// What was answered so far, by question, as it was typed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Answers(pub BTreeMap<String, String>);

impl Answers {
    pub fn get(&self, word: &str) -> Option<&str> {
        self.0.get(word).map(String::as_str)
    }

    fn is(&self, word: &str, answer: &str) -> bool {
        self.get(word) == Some(answer)
    }

    /// The unit of bare numbers.
    fn unit(&self) -> Unit {
        if self.is("units", "in") { Unit::Inch } else { Unit::Millimetre }
    }

    fn length(&self, word: &str) -> Option<f64> {
        units::length(self.get(word)?, self.unit())
    }
}

/// An old job to start from.
pub struct Old {
    file: DocumentMut,
    unit: Unit,
    outline: Outline,
}

/// Whether the questions can describe the outline of an old job.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Outline {
    Measured,
    AsItIs,
}

impl Old {
    /// Reads the old job; it has to be one that could be made.
    pub fn read(source: &Source) -> Result<Old, Vec<Diagnostic>> {
        let mut job = job::read(source)?;
        let by_hand = |what: &str| {
            let wrong = Diagnostic::whole_file(format!("{what}, which no question describes"));
            vec![wrong.help("copy the job file and change the copy by hand")]
        };
        if job.panel.drawing().is_some() {
            return Err(by_hand("the panel of this job comes from a drawing"));
        }
        let file: DocumentMut = source.text.parse().map_err(|_| {
            vec![Diagnostic::whole_file("this job cannot be taken apart to start from")]
        })?;
        let laid = |word| file.get("pattern").and_then(|pattern| pattern.get(word)).is_some();
        if !["diamond", "square"].into_iter().any(laid) {
            return Err(by_hand("this job has another pattern than diamonds or squares"));
        }
        let unit = job.unit;
        let outline = match job.panel.shape {
            Shape::Polygon { .. } | Shape::Path { .. } | Shape::Drawing { .. } => Outline::AsItIs,
            _ => Outline::Measured,
        };
        Ok(Old { file, unit, outline })
    }
}

/// One job while it is being asked for.
pub struct Interview<'a> {
    old: Option<Old>,
    machines: &'a BTreeMap<String, Machine>,
    answers: Answers,
    /// What was answered before going back: offered again.
    before: Answers,
}

impl<'a> Interview<'a> {
    pub fn new(old: Option<Old>, machines: &'a BTreeMap<String, Machine>) -> Self {
        let mut answers = Answers::default();
        if let Some(old) = &old {
            answers.0.insert("units".to_string(), old.unit.to_string());
            if old.outline == Outline::AsItIs {
                answers.0.insert("shape".to_string(), AS_IT_IS.to_string());
            }
        }
        Interview { old, machines, answers, before: Answers::default() }
    }

    pub fn answers(&self) -> &Answers {
        &self.answers
    }

    /// The questions that need asking after what was answered so far.
    fn asked(&self) -> impl Iterator<Item = &'static Question> {
        // The bare numbers of an old job keep their unit, and an outline nobody asks about stays.
        let settled = |q: &Question| match q.word {
            "units" => self.old.is_some(),
            "shape" => self.answers.is("shape", AS_IT_IS),
            _ => false,
        };
        QUESTIONS.iter().filter(move |q| (q.when)(&self.answers) && !settled(q))
    }

    /// The next question without an answer.
    pub fn next(&self) -> Option<&'static Question> {
        self.asked().find(|question| self.answers.get(question.word).is_none())
    }

    /// Takes back the answer before the next question. False at the first one.
    pub fn back(&mut self) -> bool {
        let next = self.next().map(|question| question.word);
        let Some(last) = self.asked().take_while(|q| Some(q.word) != next).last() else {
            return false;
        };
        if let Some(answer) = self.answers.0.remove(last.word) {
            self.before.0.insert(last.word.to_string(), answer);
        }
        true
    }

    /// What Enter takes.
    pub fn offer(&self, question: &Question) -> Option<String> {
        if let Some(before) = self.before.get(question.word) {
            return Some(before.to_string());
        }
        let old = self.old.as_ref().and_then(|old| paper::answer_in(&old.file, question));
        old.or_else(|| match (&question.kind, &question.offer) {
            (Kind::Machine(work), _) => {
                Some(self.suiting(*work).next().map_or(NONE, |m| &m.name).to_string())
            }
            (_, Offer::Nothing) => None,
            (_, Offer::Usual { mm, inch }) => {
                Some(if self.answers.unit() == Unit::Inch { inch } else { mm }.to_string())
            }
            (_, Offer::Follows(from)) => from(&self.answers),
            (_, Offer::Default(answer)) => Some(answer.to_string()),
        })
    }

    /// What stands if nobody is there to ask: what was in the old job, and what goes without saying.
    fn goes_without_saying(&self, question: &Question) -> Option<String> {
        let known = self.old.is_some() || matches!(question.offer, Offer::Default(_));
        known.then(|| self.offer(question)).flatten()
    }

    /// The machines that have what this work needs.
    fn suiting(&self, work: Work) -> impl Iterator<Item = &'a Machine> {
        self.machines.values().filter(move |machine| match work {
            Work::Fabric => machine.pen.is_some(),
            _ => machine.tools.iter().any(|tool| tool.work.contains(&work)),
        })
    }

    /// Takes an answer, or says why not.
    pub fn answer(&mut self, question: &Question, typed: &str) -> Result<(), String> {
        let answer = self.understood(question, typed.trim())?;
        let mut with = self.answers.clone();
        if question.word == "units" && self.answers.get("units") != Some(&answer) {
            // Bare numbers answered in another unit would change their meaning.
            with.0.retain(|word, _| {
                !QUESTIONS
                    .iter()
                    .any(|q| q.word == word && matches!(q.kind, Kind::Length | Kind::Edges))
            });
        }
        with.0.insert(question.word.to_string(), answer);
        self.try_out(&with, question)?;
        self.answers = with;
        Ok(())
    }

    /// Takes the answers that were given beforehand and, if nobody is there to ask, what goes without saying.
    /// Tells what is wrong with those given.
    pub fn fill_in(&mut self, given: &Answers, nobody_there: bool) -> Vec<String> {
        let mut wrong = Vec::new();
        let mut passed: Vec<&str> = Vec::new();
        loop {
            let next = self.open().find(|question| !passed.contains(&question.word));
            let Some(question) = next else { return wrong };
            let said = given.get(question.word).map(str::to_string);
            let answer =
                said.or_else(|| nobody_there.then(|| self.goes_without_saying(question)).flatten());
            if let Some(answer) = answer {
                match self.answer(question, &answer) {
                    Ok(()) => continue,
                    Err(why) => wrong.push(format!("--{}: {why}", question.word)),
                }
            }
            passed.push(question.word);
        }
    }

    /// The questions that are still open.
    pub fn open(&self) -> impl Iterator<Item = &'static Question> {
        self.asked().filter(|question| self.answers.get(question.word).is_none())
    }

    /// The job file as it stands.
    pub fn text(&self) -> String {
        paper::text(self.old.as_ref().map(|old| &old.file), &self.answers)
    }

    /// The answer in its full form: a choice by its number or its first letters, a machine by its name.
    fn understood(&self, question: &Question, typed: &str) -> Result<String, String> {
        if typed.chars().any(char::is_control) {
            return Err("there is a sign in it that is no letter; please type it again".to_string());
        }
        let words: Vec<String> = self.choices(question).into_iter().map(|(word, _)| word).collect();
        if words.is_empty() {
            return Ok(typed.to_string());
        }
        let by_number = typed.parse::<usize>().ok().and_then(|n| words.get(n.checked_sub(1)?));
        let exact = words.iter().find(|word| *word == typed);
        let mut begins = words.iter().filter(|word| !typed.is_empty() && word.starts_with(typed));
        let begun = begins.next().filter(|_| begins.next().is_none());
        // Any other fit may be typed as well.
        let other = (matches!(question.kind, Kind::Fit) && typed.contains('x')).then_some(typed);
        match exact.or(by_number).or(begun) {
            Some(word) => Ok(word.clone()),
            None => other.map(str::to_string).ok_or_else(|| {
                let names: Vec<&str> = words.iter().map(String::as_str).collect();
                let near =
                    form::nearest(typed, &names).map(|near| format!("did you mean {near}? "));
                format!("{}it is {}", near.unwrap_or_default(), form::either(words.iter().cloned()))
            }),
        }
    }

    /// The words to choose from, each with what it means; empty where an answer is free.
    pub fn choices(&self, question: &Question) -> Vec<(String, String)> {
        let owned = |pair: &(&str, &str)| (pair.0.to_string(), pair.1.to_string());
        match &question.kind {
            Kind::Choice(words) | Kind::Table { words, .. } => words.iter().map(owned).collect(),
            Kind::Machine(work) => {
                let named = |m: &Machine| (m.name.clone(), m.title.clone());
                let none = (NONE.to_string(), "a drawing only".to_string());
                self.suiting(*work).map(named).chain([none]).collect()
            }
            Kind::Fit => self.fits(),
            _ => Vec::new(),
        }
    }

    fn fits(&self) -> Vec<(String, String)> {
        let Ok((job, layout)) = self.laid_out(&self.answers) else {
            return vec![(KEEP.to_string(), String::new())];
        };
        let says = |f: &layout::Fitted| {
            let size = words::size([f.width, f.height], job.unit);
            let shape = layout::shape_word(f.kind);
            format!("{shape} {size}, {}", words::count(f.count() as usize, "button", "buttons"))
        };
        let here = &layout.fitted;
        let mut fits = vec![(KEEP.to_string(), says(here))];
        for choice in layout::choices(&job, &layout.outline, here, CHOICES) {
            let f = &choice.fitted;
            if (f.across, f.rows) != (here.across, here.rows) {
                fits.push((format!("{} x {}", f.across, f.rows), says(f)));
            }
        }
        fits
    }

    /// The answers as far as they go, the rest stood in for.
    fn with_stand_ins(&self, answers: &Answers) -> Answers {
        let mut all = answers.clone();
        if !pattern_known(answers) {
            // A pattern that fits any panel, round ones too, whatever the size.
            all.0.insert("fit".to_string(), WHOLE.to_string());
        }
        for question in QUESTIONS {
            if all.get(question.word).is_none() && (question.when)(&all) {
                all.0.insert(question.word.to_string(), question.stand_in.to_string());
            }
        }
        all
    }

    fn laid_out(&self, answers: &Answers) -> Result<(Job, Layout), Vec<Diagnostic>> {
        let old = self.old.as_ref().map(|old| &old.file);
        let text = paper::text(old, &self.with_stand_ins(answers));
        let job = job::read(&Source { name: String::new(), text })?.hands().remove(0);
        let layout = layout::lay_out(&job)?;
        Ok((job, layout))
    }

    /// Lays out what is known; once nothing but machines is left to ask, those named have to be able to do it.
    fn tried(&self, answers: &Answers) -> Result<(), Vec<Diagnostic>> {
        let (job, layout) = self.laid_out(answers)?;
        let open = |q: &Question| {
            (q.when)(answers)
                && answers.get(q.word).is_none()
                && !matches!(q.kind, Kind::Machine(_))
        };
        if QUESTIONS.iter().any(open) {
            return Ok(());
        }
        for work in Work::ALL {
            let machine =
                job.on.machine_for(work).and_then(|named| self.machines.get(&named.value));
            if let Some(machine) = machine {
                plan::plan(&job, &layout, work, machine, Effort::Quick)?;
            }
        }
        Ok(())
    }

    fn try_out(&self, answers: &Answers, question: &Question) -> Result<(), String> {
        self.tried(answers).map_err(|wrong| {
            let first = &wrong[0];
            // Keys are words of the file; a person was asked in others.
            let key = question.place.rsplit('.').next().unwrap_or_default();
            let this = |text: &str| text.replace(&format!("`{key}`"), "this");
            let help = first.help.as_deref().filter(|help| !help.contains(" = ")).map(this);
            let help = help.map(|help| format!("; {help}")).unwrap_or_default();
            this(&first.message) + &help
        })
    }

    /// The fit as far as it is known.
    pub fn fit(&self) -> Option<(Job, Layout)> {
        let mut answers = self.answers.clone();
        if !pattern_known(&answers) {
            return None;
        }
        if self.open().any(|question| question.word.starts_with("allowance-")) {
            // Nothing is said of an allowance that only stands in for one.
            answers.0.remove("allowance");
        }
        self.laid_out(&answers).ok()
    }
}

/// Whether there is enough to lay a pattern out.
fn pattern_known(answers: &Answers) -> bool {
    QUESTIONS
        .iter()
        .filter(|q| q.place.starts_with("panel") || q.word.starts_with("diamond-"))
        .all(|q| !(q.when)(answers) || answers.get(q.word).is_some())
}
