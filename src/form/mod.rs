//! A TOML file read as a form: every key is asked for by name, everything wrong is noted at its
//! place, and what nobody asked for is refused.
//!
//! Reading goes on after a mistake, so that a person sees **all** of them at once. A value that could
//! not be read stands as `NaN` (or the first choice) until the end, where [`read`] gives nothing back
//! if anything was noted; comparisons with `NaN` are false, so one mistake is not reported twice.

mod describe;
mod points;
mod schema;
mod values;
mod wording;

pub use describe::{Field, Kind, describe};
pub use schema::{manual, schema};
pub use wording::{either, nearest};

use crate::{
    diag::{Diagnostic, Given, Source},
    units::Unit,
};
use std::{cell::RefCell, ops::Range};
use toml::{
    Spanned,
    de::{DeTable, DeValue},
};
use wording::{all, kind};

/// The longest length anybody means: 20 m. Beyond it a zero or a unit has slipped.
pub const LONGEST: f64 = 20_000.0;

/// Which numbers make sense.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Within {
    /// More than nought.
    Positive,
    /// Nought or more.
    NotNegative,
    /// Either sign.
    Signed,
    /// From the first to the second.
    Between(f64, f64),
}

/// Reads a whole file through `ask`. All that is wrong comes back at once.
pub fn read<T>(
    source: &Source,
    ask: impl FnOnce(&mut Form) -> Option<T>,
) -> Result<T, Vec<Diagnostic>> {
    let (table, errors) = DeTable::parse_recoverable(&source.text);
    if !errors.is_empty() {
        return Err(errors.iter().map(|e| not_toml(e, source.text.len())).collect());
    }
    let notes = RefCell::new(Vec::new());
    let unit = Unit::Millimetre;
    let path = String::new();
    let mut form = Form {
        table: table.get_ref(),
        span: 0..0,
        path,
        unit,
        notes: &notes,
        asked: Vec::new(),
        describes: None,
    };
    let answer = ask(&mut form);
    form.refuse_unasked();
    match answer {
        Some(answer) if notes.borrow().is_empty() => Ok(answer),
        _ => Err(notes.into_inner()),
    }
}

fn not_toml(error: &toml::de::Error, length: usize) -> Diagnostic {
    let span = error.span().unwrap_or(0..0);
    let span = span.start.min(length)..span.end.min(length);
    Diagnostic::at(span, format!("this cannot be read as TOML: {}", error.message()))
        .help("each line is `key = value`; texts stand in \"quotes\", tables begin with [name]")
}

/// One table of the file, while it is being read.
pub struct Form<'a> {
    table: &'a DeTable<'a>,
    span: Range<usize>,
    path: String,
    unit: Unit,
    notes: &'a RefCell<Vec<Diagnostic>>,
    asked: Vec<&'static str>,
    /// Set if nothing is read, and the questions themselves are what is wanted.
    describes: Option<describe::Asked<'a>>,
}

impl<'a> Form<'a> {
    /// The unit of bare numbers from here on, in this table and those within it.
    pub fn set_unit(&mut self, unit: Unit) {
        self.unit = unit;
    }

    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// Where this table stands.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    pub fn note(&self, diagnostic: Diagnostic) {
        self.notes.borrow_mut().push(diagnostic);
    }

    pub fn has(&mut self, key: &'static str) -> bool {
        let found = self.look(key).is_some();
        found || self.fork(2) == 1
    }

    pub fn length(&mut self, key: &'static str, within: Within) -> Given<f64> {
        self.tell(key, Kind::Length(within), true);
        self.required(key, "a length, such as 12, \"1/2 in\" or \"36 line\"", f64::NAN, |f, v| {
            f.as_length(key, v, within)
        })
    }

    pub fn length_or(&mut self, key: &'static str, within: Within, default: f64) -> Given<f64> {
        self.length_if(key, within).unwrap_or(self.filled_in(default))
    }

    pub fn length_if(&mut self, key: &'static str, within: Within) -> Option<Given<f64>> {
        self.tell(key, Kind::Length(within), false);
        self.optional(key, f64::NAN, |f, v| f.as_length(key, v, within))
    }

    /// A speed in mm/min.
    pub fn speed(&mut self, key: &'static str) -> Given<f64> {
        self.tell(key, Kind::Speed, true);
        self.required(
            key,
            "a speed, such as 1500, \"60 in/min\" or \"25 mm/s\"",
            f64::NAN,
            |f, v| f.as_speed(key, v),
        )
    }

    /// A plain number without a unit.
    pub fn number(&mut self, key: &'static str, within: Within) -> Given<f64> {
        self.tell(key, Kind::Number(within), true);
        self.required(key, "a number", f64::NAN, |f, v| f.as_number(key, v, within))
    }

    /// A plain number, if it is there.
    pub fn number_if(&mut self, key: &'static str, within: Within) -> Option<Given<f64>> {
        self.tell(key, Kind::Number(within), false);
        self.optional(key, f64::NAN, |f, v| f.as_number(key, v, within))
    }

    pub fn number_or(&mut self, key: &'static str, within: Within, default: f64) -> Given<f64> {
        self.number_if(key, within).unwrap_or(self.filled_in(default))
    }

    /// A whole number, at least `least`.
    pub fn count_if(&mut self, key: &'static str, least: u32) -> Option<Given<u32>> {
        self.tell(key, Kind::Count(least), false);
        self.optional(key, least, |f, v| f.as_count(key, v, least))
    }

    pub fn count_or(&mut self, key: &'static str, least: u32, default: u32) -> Given<u32> {
        self.count_if(key, least).unwrap_or(self.filled_in(default))
    }

    pub fn count(&mut self, key: &'static str, least: u32) -> Given<u32> {
        self.tell(key, Kind::Count(least), true);
        self.required(key, "a whole number", least, |f, v| f.as_count(key, v, least))
    }

    /// A text of one line.
    pub fn text(&mut self, key: &'static str) -> Given<String> {
        self.tell(key, Kind::Text, true);
        self.required(key, "a text in \"quotes\"", "?".to_string(), |f, v| f.as_line(key, v))
    }

    pub fn text_if(&mut self, key: &'static str) -> Option<Given<String>> {
        self.tell(key, Kind::Text, false);
        self.optional(key, String::new(), |f, v| f.as_line(key, v))
    }

    /// A text of one line or several.
    pub fn lines(&mut self, key: &'static str) -> Given<String> {
        self.tell(key, Kind::Text, true);
        self.required(key, "a text in \"quotes\"", "?".to_string(), |f, v| f.as_text(key, v))
    }

    fn as_line(&self, key: &str, v: &Spanned<DeValue>) -> Option<String> {
        let text = self.as_text(key, v)?;
        if text.chars().any(char::is_control) {
            self.wrong(
                v,
                format!("`{key}` goes over more than one line"),
                "write it on one line, without tabs",
            );
        }
        Some(text)
    }

    pub fn yes_or_no_or(&mut self, key: &'static str, default: bool) -> bool {
        self.tell(key, Kind::YesOrNo, false);
        let default = default != (self.fork(2) == 1);
        self.optional(key, default, |f, v| {
            let answer = v.get_ref().as_bool();
            if answer.is_none() {
                f.wrong(
                    v,
                    format!("`{key}` is true or false, not {}", kind(v)),
                    "write true or false",
                );
            }
            Some(answer.unwrap_or(default))
        })
        .map_or(default, |given| given.value)
    }

    /// One word out of a few.
    pub fn choice<T: Copy>(&mut self, key: &'static str, words: &[(&str, T)]) -> Given<T> {
        self.tell(key, Kind::Choice(all(words)), true);
        let unread = words[self.fork(words.len())].1;
        let wanted = either(words.iter().map(|(word, _)| format!("\"{word}\"")));
        self.required(key, &wanted, unread, |f, v| f.as_choice(key, v, words))
    }

    /// One word out of a few, if it is there.
    pub fn choice_if<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&str, T)],
    ) -> Option<Given<T>> {
        self.tell(key, Kind::Choice(all(words)), false);
        let unread = words[self.fork(words.len())].1;
        self.optional(key, unread, |f, v| f.as_choice(key, v, words))
    }

    /// One word out of a few; the first unless said otherwise.
    pub fn choice_or_first<T: Copy>(&mut self, key: &'static str, words: &[(&str, T)]) -> Given<T> {
        self.tell(key, Kind::Choice(all(words)), false);
        let first = words[self.fork(words.len())].1;
        self.optional(key, first, |f, v| f.as_choice(key, v, words))
            .unwrap_or(self.filled_in(first))
    }

    /// A table that must be there.
    pub fn table<T>(
        &mut self,
        key: &'static str,
        ask: impl FnOnce(&mut Form<'a>) -> Option<T>,
    ) -> Option<T> {
        if self.describes.is_some() {
            return self.tell_table(key, Kind::Table, true, ask);
        }
        if !self.has(key) {
            self.missing_table(key);
            return None;
        }
        self.table_if(key, ask)
    }

    pub fn table_if<T>(
        &mut self,
        key: &'static str,
        ask: impl FnOnce(&mut Form<'a>) -> Option<T>,
    ) -> Option<T> {
        if self.describes.is_some() {
            return self.tell_table(key, Kind::Table, false, ask);
        }
        let value = self.look(key)?;
        self.as_table(key, value, ask)
    }

    /// `[[key]]`: any number of tables.
    pub fn tables<T>(
        &mut self,
        key: &'static str,
        mut ask: impl FnMut(&mut Form<'a>) -> Option<T>,
    ) -> Vec<T> {
        if self.describes.is_some() {
            return self.tell_table(key, Kind::Tables, false, ask).into_iter().collect();
        }
        let Some(value) = self.look(key) else { return Vec::new() };
        let Some(array) = value.get_ref().as_array() else {
            self.wrong(
                value,
                format!("`{key}` is a list of tables, not {}", kind(value)),
                &format!("write [[{key}]]"),
            );
            return Vec::new();
        };
        array.iter().filter_map(|item| self.as_table(key, item, &mut ask)).collect()
    }

    /// A list of `N` lengths, `[from, to]`.
    pub fn lengths<const N: usize>(
        &mut self,
        key: &'static str,
        within: Within,
    ) -> Given<[f64; N]> {
        self.tell(key, Kind::Lengths(N, within), true);
        self.required(
            key,
            &format!("a list of {N} lengths, such as [0, 40]"),
            [f64::NAN; N],
            |f, v| f.as_list(key, v, |f, item| f.as_length(key, item, within)),
        )
    }

    /// One length, or a list of at least one.
    pub fn length_or_list(&mut self, key: &'static str, within: Within) -> Given<Vec<f64>> {
        self.tell(key, Kind::LengthOrList(within), true);
        let wanted = "a length, such as 32, or a list of them, such as [32, 36]";
        self.required(key, wanted, vec![f64::NAN], |f, v| match v.get_ref().as_array() {
            Some(list) if list.is_empty() => {
                f.wrong(v, format!("`{key}` is an empty list"), &format!("write {wanted}"));
                None
            }
            Some(list) => list.iter().map(|item| f.as_length(key, item, within)).collect(),
            None => f.as_length(key, v, within).map(|mm| vec![mm]),
        })
    }

    /// A list of two numbers, from the lesser to the greater, if it is there.
    pub fn range_if(&mut self, key: &'static str) -> Option<Given<[f64; 2]>> {
        self.tell(key, Kind::Range, false);
        self.optional(key, [f64::NAN; 2], |f, v| {
            f.as_list(key, v, |f, item| f.as_number(key, item, Within::Positive))
        })
    }

    /// A list of words, each one of a few.
    pub fn choices<T: Copy>(&mut self, key: &'static str, words: &[(&str, T)]) -> Vec<T> {
        self.tell(key, Kind::Choices(all(words)), true);
        self.required(key, "a list of words", Vec::new(), |f, v| {
            let Some(array) = v.get_ref().as_array() else {
                f.wrong(
                    v,
                    format!("`{key}` is a list, not {}", kind(v)),
                    &format!("write [\"{}\"]", words[0].0),
                );
                return Some(Vec::new());
            };
            Some(array.iter().filter_map(|item| f.as_choice(key, item, words)).collect())
        })
        .value
    }

    /// A list of texts, empty where it is not there.
    pub fn texts(&mut self, key: &'static str) -> Vec<Given<String>> {
        self.tell(key, Kind::Texts, false);
        let given = self.optional(key, Vec::new(), |f, v| {
            let Some(array) = v.get_ref().as_array() else {
                f.wrong(
                    v,
                    format!("`{key}` is a list of texts, not {}", kind(v)),
                    "write [\"…\", \"…\"]",
                );
                return Some(Vec::new());
            };
            let texts = array
                .iter()
                .filter_map(|item| Some(Given { value: f.as_text(key, item)?, span: item.span() }));
            Some(texts.collect())
        });
        given.map_or(Vec::new(), |given| given.value)
    }

    /// Whether the value is itself a table (`edge = { … }`) rather than a single figure.
    pub fn is_table(&mut self, key: &'static str) -> bool {
        let found = self.look(key).is_some_and(|v| v.get_ref().is_table());
        found || self.fork(2) == 1
    }

    /// The keys of this table that stand in the file and are among `keys`, with their places.
    pub fn present(&self, keys: &[&str]) -> Vec<(String, Range<usize>)> {
        let found = self.table.iter().filter(|(k, _)| keys.contains(&k.get_ref().as_ref()));
        found.map(|(k, _)| (k.get_ref().to_string(), k.span())).collect()
    }

    /// A table that must be there, and is not.
    pub fn missing_table(&self, key: &str) {
        let full = self.full(key);
        self.note(
            Diagnostic::at(self.span(), format!("the table [{full}] is missing"))
                .help(format!("add [{full}] and its values")),
        );
    }

    fn tell(&self, key: &'static str, kind: Kind, required: bool) {
        if let Some(asked) = &self.describes {
            asked.tell(key, kind, required);
        }
    }

    /// Which of so many ways is taken here: the first, unless a describing run wants to know of another.
    fn fork(&self, ways: usize) -> usize {
        self.describes.as_ref().map_or(0, |asked| asked.fork(ways))
    }

    fn filled_in<T>(&self, value: T) -> Given<T> {
        Given { value, span: self.span() }
    }

    fn look(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.asked.push(key);
        self.table.get(key)
    }

    fn full(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_string() } else { format!("{}.{key}", self.path) }
    }

    fn wrong(&self, value: &Spanned<DeValue>, message: String, help: &str) {
        self.note(Diagnostic::at(value.span(), message).help(help));
    }

    fn required<T>(
        &mut self,
        key: &'static str,
        wanted: &str,
        unread: T,
        as_type: impl FnOnce(&Self, &'a Spanned<DeValue<'a>>) -> Option<T>,
    ) -> Given<T> {
        if let Some(value) = self.look(key) {
            let span = value.span();
            return Given { value: as_type(self, value).unwrap_or(unread), span };
        }
        let place =
            if self.path.is_empty() { String::new() } else { format!(" in [{}]", self.path) };
        self.note(
            Diagnostic::at(self.span(), format!("`{key}` is missing{place}"))
                .help(format!("write {key} = … ({wanted})")),
        );
        self.filled_in(unread)
    }

    fn optional<T>(
        &mut self,
        key: &'static str,
        unread: T,
        as_type: impl FnOnce(&Self, &'a Spanned<DeValue<'a>>) -> Option<T>,
    ) -> Option<Given<T>> {
        let found = self.look(key);
        if found.is_none() && self.fork(2) == 1 {
            return Some(self.filled_in(unread));
        }
        let value = found?;
        Some(Given { value: as_type(self, value).unwrap_or(unread), span: value.span() })
    }

    fn as_table<T>(
        &self,
        key: &str,
        value: &'a Spanned<DeValue<'a>>,
        ask: impl FnOnce(&mut Form<'a>) -> Option<T>,
    ) -> Option<T> {
        let Some(table) = value.get_ref().as_table() else {
            self.wrong(
                value,
                format!("`{key}` is a table, not {}", kind(value)),
                &format!("write [{}]", self.full(key)),
            );
            return None;
        };
        let mut form = Form {
            table,
            span: value.span(),
            path: self.full(key),
            unit: self.unit,
            notes: self.notes,
            asked: Vec::new(),
            describes: None,
        };
        let answer = ask(&mut form);
        form.refuse_unasked();
        answer
    }

    fn refuse_unasked(&self) {
        for key in self.table.keys() {
            let name = key.get_ref().as_ref();
            if self.asked.contains(&name) {
                continue;
            }
            let place = if self.path.is_empty() {
                "here".to_string()
            } else {
                format!("in [{}]", self.path)
            };
            let mut known = self.asked.clone();
            known.sort_unstable();
            known.dedup();
            let help = match nearest(name, &known) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("known {place}: {}", known.join(", ")),
            };
            self.note(
                Diagnostic::at(key.span(), format!("`{name}` is not a key that is known {place}"))
                    .help(help),
            );
        }
    }
}
