//! What a form asks for, found out by having it asked: the reader of a file is run over nothing, and
//! every question it puts is written down. So an editor's schema cannot differ from the reader.
//!
//! What a reader asks may hang on earlier answers. Wherever an answer has several outcomes (a word of a
//! few, a key that is there or not) the reader is run again for each of them, one change at a time, and
//! the findings are put together: a key is required if it was in every run that knew its table.

use super::{Form, Within};
use crate::units::Unit;
use std::cell::RefCell;
use toml::de::DeTable;

/// One key and what may stand there.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    pub key: &'static str,
    pub kind: Kind,
    pub required: bool,
}

/// What may stand at a key.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    Length(Within),
    /// A length, or a list of at least one.
    LengthOrList(Within),
    Speed,
    Number(Within),
    /// A whole number, at least this.
    Count(u32),
    Text,
    /// A list of texts.
    Texts,
    YesOrNo,
    /// One of these words.
    Choice(Vec<String>),
    /// A list of words, each one of these.
    Choices(Vec<String>),
    /// A list of so many lengths.
    Lengths(usize, Within),
    /// Places of two lengths, or of three.
    Places,
    /// Two numbers.
    Range,
    Table(Vec<Field>),
    /// `[[key]]`.
    Tables(Vec<Field>),
    /// One of several kinds.
    Either(Vec<Kind>),
}

/// What is known of the run that is going on.
pub(super) struct Run {
    /// The fork that takes another way than its first, and which.
    turn: Option<(usize, usize)>,
    /// How many ways each fork had, in the order in which they were come to.
    forks: RefCell<Vec<usize>>,
    /// Keys that were looked for and of which nothing more was said.
    untold: RefCell<Vec<String>>,
}

/// The questions of one table, as they are put.
pub(super) struct Asked<'a> {
    run: &'a Run,
    fields: RefCell<Vec<Field>>,
}

/// All that a reader asks, and the keys that it only looks for.
pub fn describe<T>(ask: impl Fn(&mut Form) -> Option<T>) -> (Vec<Field>, Vec<String>) {
    let once = |turn| {
        let run = Run { turn, forks: RefCell::default(), untold: RefCell::default() };
        let fields = {
            let notes = RefCell::new(Vec::new());
            let table = DeTable::new();
            let mut form = Form {
                table: &table,
                span: 0..0,
                path: String::new(),
                unit: Unit::Millimetre,
                notes: &notes,
                asked: Vec::new(),
                describes: Some(Asked::of(&run)),
            };
            ask(&mut form);
            form.told()
        };
        (fields, run.forks.into_inner(), run.untold.into_inner())
    };
    let (mut fields, forks, mut untold) = once(None);
    for (fork, ways) in forks.iter().enumerate() {
        for way in 1..*ways {
            let (more, _, more_untold) = once(Some((fork, way)));
            fields = together(fields, more);
            untold.extend(more_untold);
        }
    }
    // What one run only looked for another may have asked for.
    untold.retain(|path| !holds(&fields, path));
    untold.sort();
    untold.dedup();
    (fields, untold)
}

/// Whether a key, by its path, is among the fields.
fn holds(fields: &[Field], path: &str) -> bool {
    let (key, rest) = path.split_once('.').unwrap_or((path, ""));
    let within = |kind: &Kind| match kind {
        Kind::Table(inner) | Kind::Tables(inner) => holds(inner, rest),
        _ => false,
    };
    fields.iter().any(|field| {
        field.key == key
            && match &field.kind {
                _ if rest.is_empty() => true,
                Kind::Either(kinds) => kinds.iter().any(within),
                kind => within(kind),
            }
    })
}

impl<'a> Asked<'a> {
    pub(super) fn of(run: &'a Run) -> Self {
        Asked { run, fields: RefCell::default() }
    }

    pub(super) fn within(&self) -> Asked<'a> {
        Asked::of(self.run)
    }

    pub(super) fn tell(&self, key: &'static str, kind: Kind, required: bool) {
        let known = self.fields.take();
        // Asked twice of one table, it is required if either asking requires it.
        self.fields.replace(join(known, vec![Field { key, kind, required }], |a, b| a || b));
    }

    /// Which of so many ways this run takes here.
    pub(super) fn fork(&self, ways: usize) -> usize {
        let mut forks = self.run.forks.borrow_mut();
        forks.push(ways);
        match self.run.turn {
            Some((fork, way)) if fork == forks.len() - 1 => way,
            _ => 0,
        }
    }

    /// The fields told, in the order of their asking; what was only looked for is noted.
    pub(super) fn told(self, path: &str, looked_for: &[&'static str]) -> Vec<Field> {
        let fields = self.fields.into_inner();
        for key in looked_for {
            if !fields.iter().any(|field| field.key == *key) {
                let full = if path.is_empty() { key.to_string() } else { format!("{path}.{key}") };
                self.run.untold.borrow_mut().push(full);
            }
        }
        fields
    }
}

impl<'a> Form<'a> {
    /// Has a table asked though there is none, and notes what it asks.
    pub(super) fn tell_table<T>(
        &mut self,
        key: &'static str,
        kind: fn(Vec<Field>) -> Kind,
        required: bool,
        ask: impl FnOnce(&mut Form<'a>) -> Option<T>,
    ) -> Option<T> {
        let asked = self.describes.as_ref()?.within();
        let path =
            if self.path.is_empty() { key.to_string() } else { format!("{}.{key}", self.path) };
        let mut form = Form {
            table: self.table,
            span: 0..0,
            path,
            unit: self.unit,
            notes: self.notes,
            asked: Vec::new(),
            describes: Some(asked),
        };
        let answer = ask(&mut form);
        let fields = form.told();
        self.asked.push(key);
        self.tell(key, kind(fields), required);
        answer
    }

    fn told(self) -> Vec<Field> {
        self.describes.map_or_else(Vec::new, |asked| asked.told(&self.path, &self.asked))
    }
}

/// Two findings about the same table: required is what both require.
fn together(a: Vec<Field>, b: Vec<Field>) -> Vec<Field> {
    let in_both = |key: &str| a.iter().any(|f| f.key == key) && b.iter().any(|f| f.key == key);
    let lone: Vec<&str> =
        a.iter().chain(&b).map(|field| field.key).filter(|key| !in_both(key)).collect();
    let mut fields = join(a.clone(), b.clone(), |a, b| a && b);
    fields.iter_mut().filter(|f| lone.contains(&f.key)).for_each(|f| f.required = false);
    fields
}

fn join(
    mut into: Vec<Field>,
    more: Vec<Field>,
    required: impl Fn(bool, bool) -> bool,
) -> Vec<Field> {
    for field in more {
        match into.iter_mut().find(|known| known.key == field.key) {
            Some(known) => {
                known.required = required(known.required, field.required);
                known.kind = either(known.kind.clone(), field.kind);
            }
            None => into.push(field),
        }
    }
    into
}

fn either(a: Kind, b: Kind) -> Kind {
    match (a, b) {
        (a, b) if a == b => a,
        (Kind::Table(a), Kind::Table(b)) => Kind::Table(together(a, b)),
        (Kind::Tables(a), Kind::Tables(b)) => Kind::Tables(together(a, b)),
        (Kind::Count(a), Kind::Count(b)) => Kind::Count(a.min(b)),
        (Kind::Either(mut kinds), b) => {
            let alike = |kind: &Kind| std::mem::discriminant(kind) == std::mem::discriminant(&b);
            match kinds.iter().position(alike) {
                Some(i) => {
                    let known = kinds.remove(i);
                    kinds.insert(i, either(known, b));
                }
                None => kinds.push(b),
            }
            Kind::Either(kinds)
        }
        (a, b) => Kind::Either(vec![a, b]),
    }
}
