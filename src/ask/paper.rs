//! Answers put into a job file: into an old one, which keeps all that was not asked about, or into
//! an empty one.

use super::{
    Answers,
    questions::{AS_IT_IS, KEEP, Kind, NONE, QUESTIONS, Question},
};
use crate::units::{self, Unit};
use toml_edit::{DocumentMut, InlineTable, Item, Table, Value};

const HEAD: &str = "# A job for bradawl, from the answers to `bradawl new`. Change it as you like: jobs/README.md\n\
                    # explains every key, and `bradawl make` says what is wrong at its place.\n\n";

/// The job file with the answers in it.
pub fn text(old: Option<&DocumentMut>, answers: &Answers) -> String {
    let mut file = old.cloned().unwrap_or_default();
    for question in QUESTIONS.iter().filter(|question| (question.when)(answers)) {
        if let Some(answer) = answers.get(question.word) {
            put(&mut file, question, answer, answers.unit());
        }
    }
    // A job without machines is one that has said so.
    table_at(file.as_item_mut(), &["on"]);
    let head = if old.is_some() { "" } else { HEAD };
    format!("{head}{file}")
}

/// What an old job file answers to a question.
pub fn answer_in(old: &DocumentMut, question: &Question) -> Option<String> {
    let place = place(old, question);
    let at = |key: &str| find(old, &place).and_then(|table| table.get(key));
    let here = find(old, &place);
    match &question.kind {
        Kind::Edges => match here?.as_table_like() {
            Some(sides) => {
                let sides = ["sides", "top", "bottom"].map(|side| sides.get(side).and_then(plain));
                let sides: Vec<String> = sides.into_iter().collect::<Option<_>>()?;
                Some(sides.join(", "))
            }
            None => plain(here?),
        },
        Kind::SizeOrCount { count_key } => {
            let (_, table) = place.split_last()?;
            let count = find(old, table).and_then(|table| table.get(count_key)).and_then(plain);
            match count {
                Some(count) => Some(format!("{count} {}", count_word(count_key))),
                None => plain(here?),
            }
        }
        Kind::Table { words, .. } => {
            words.iter().find(|(word, _)| at(word).is_some()).map(|(word, _)| word.to_string())
        }
        Kind::Machine(_) | Kind::TextOrNone => {
            Some(here.and_then(plain).unwrap_or_else(|| NONE.to_string()))
        }
        Kind::Fit => None,
        _ => plain(here?),
    }
}

/// What a count under this key counts.
fn count_word(count_key: &str) -> &'static str {
    if count_key == "rows" { "rows" } else { "buttons" }
}

fn put(file: &mut DocumentMut, question: &Question, answer: &str, unit: Unit) {
    let place = place(file, question);
    let comment = question.explains;
    match &question.kind {
        Kind::Text | Kind::Choice(_) => set(file, &place, answer.into(), comment),
        Kind::Number => set(file, &place, number(answer), comment),
        Kind::Length if answer.contains(',') => {
            let lengths = answer.split(',').map(|answer| length(answer.trim(), unit));
            set(file, &place, Value::Array(lengths.collect()), comment);
        }
        Kind::Length => set(file, &place, length(answer, unit), comment),
        Kind::TextOrNone | Kind::Machine(_) if answer == NONE => remove(file, &place),
        Kind::TextOrNone | Kind::Machine(_) => set(file, &place, answer.into(), comment),
        Kind::Edges => {
            let sides: Vec<&str> = answer.split(',').map(str::trim).collect();
            let value = match sides[..] {
                [sides, top, bottom] => {
                    let named = [("sides", sides), ("top", top), ("bottom", bottom)];
                    let pairs = named.map(|(side, answer)| (side, length(answer, unit)));
                    Value::InlineTable(InlineTable::from_iter(pairs))
                }
                _ => length(answer, unit),
            };
            set(file, &place, value, comment);
        }
        Kind::SizeOrCount { count_key } => {
            let mut count_place = place.clone();
            *count_place.last_mut().expect("a key") = count_key.to_string();
            match count(answer) {
                Some(n) => set(file, &count_place, n.into(), comment),
                None => {
                    remove(file, &count_place);
                    set(file, &place, length(answer, unit), comment);
                }
            }
        }
        Kind::Table { .. } if answer == AS_IT_IS => {}
        Kind::Table { keep, .. } => exchange(file, &place, answer, keep),
        Kind::Fit if answer == KEEP => {}
        Kind::Fit => {
            let mut both = answer.split('x').map(str::trim);
            for key in ["across", "rows"] {
                let mut place = place.clone();
                place.push(key.to_string());
                set(file, &place, number(both.next().unwrap_or_default()), "");
            }
        }
    }
}

/// The keys down to a question's answer. A `*` is the table that is there, or `rectangle`.
fn place(file: &DocumentMut, question: &Question) -> Vec<String> {
    let mut keys: Vec<String> = Vec::new();
    for key in question.place.split('.') {
        let key = match key {
            "*" => find(file, &keys)
                .and_then(Item::as_table_like)
                .and_then(|table| table.iter().find(|(_, item)| item.is_table_like()))
                .map_or("rectangle", |(key, _)| key),
            key => key,
        };
        keys.push(key.to_string());
    }
    keys
}

fn find<'f>(file: &'f DocumentMut, keys: &[impl AsRef<str>]) -> Option<&'f Item> {
    keys.iter().try_fold(file.as_item(), |item, key| item.get(key.as_ref()))
}

/// The table at `keys`, made where it is not there yet.
fn table_at<'f>(item: &'f mut Item, keys: &[&str]) -> &'f mut Item {
    let Some((key, rest)) = keys.split_first() else { return item };
    let table = item.as_table_like_mut().expect("a job file that was read has tables here");
    if !table.contains_key(key) {
        let mut new = Table::new();
        // Shown once it has a key of its own, and [on] in any case.
        new.set_implicit(!rest.is_empty());
        table.insert(key, Item::Table(new));
    }
    table_at(table.get_mut(key).expect("it was just made"), rest)
}

/// Sets a value. A new key gets its comment above it; an old one keeps what stands round it.
fn set(file: &mut DocumentMut, place: &[String], mut value: Value, comment: &str) {
    let keys: Vec<&str> = place.iter().map(String::as_str).collect();
    let (key, table) = keys.split_last().expect("a key");
    let parent = table_at(file.as_item_mut(), table);
    let commented = parent.is_table() && !comment.is_empty();
    let table = parent.as_table_like_mut().expect("a table was found or made");
    match table.get_mut(key) {
        Some(Item::Value(old)) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        _ => {
            table.insert(key, Item::Value(value));
            if let Some(mut key) = table.key_mut(key).filter(|_| commented) {
                key.leaf_decor_mut().set_prefix(format!("# {comment}\n"));
            }
        }
    }
}

fn remove(file: &mut DocumentMut, place: &[String]) {
    let (key, table) = place.split_last().expect("a key");
    let parent = table.iter().try_fold(file.as_item_mut(), |item, key| item.get_mut(key));
    if let Some(table) = parent.and_then(Item::as_table_like_mut) {
        table.remove(key);
    }
}

/// Has the table `word` stand at the place, instead of the others of its kind.
fn exchange(file: &mut DocumentMut, place: &[String], word: &str, keep: &[&str]) {
    let keys: Vec<&str> = place.iter().map(String::as_str).collect();
    let (key, above) = keys.split_last().expect("a key");
    let above = table_at(file.as_item_mut(), above);
    let table = above.as_table_like_mut().expect("a table was found or made");
    if !table.contains_key(key) {
        let mut new = Table::new();
        new.set_implicit(true);
        table.insert(key, Item::Table(new));
    }
    let kinds = table.get_mut(key).and_then(Item::as_table_like_mut).expect("it is a table");
    // All that is there and is not `word` goes; some of its keys stay under the new name.
    let others: Vec<String> =
        kinds.iter().map(|(key, _)| key.to_string()).filter(|key| key != word).collect();
    let mut kept = Item::Table(Table::new());
    for other in others {
        kept = kinds.remove(&other).expect("it was there");
    }
    if let Some(kept) = kept.as_table_like_mut() {
        let gone: Vec<String> = kept
            .iter()
            .map(|(key, _)| key.to_string())
            .filter(|key| !keep.contains(&key.as_str()))
            .collect();
        for key in gone {
            kept.remove(&key);
        }
    }
    if !kinds.contains_key(word) {
        kinds.insert(word, kept);
    }
}

/// `7 buttons`, `5 rows`.
pub fn count(answer: &str) -> Option<i64> {
    let (n, word) = answer.split_once(' ')?;
    ["button", "buttons", "row", "rows"].contains(&word.trim()).then_some(())?;
    n.trim().parse().ok()
}

/// A bare number is in the file's unit; anything else stands in quotes with its unit.
fn length(answer: &str, unit: Unit) -> Value {
    let bare = number(answer);
    if !bare.is_str() {
        return bare;
    }
    // A fraction alone is no TOML number, so its unit is written out. It has none if it matters which.
    let read = |unit| units::length(answer, unit);
    if read(Unit::Inch) != read(Unit::Millimetre) {
        return format!("{answer} {unit}").into();
    }
    answer.into()
}

/// A TOML number if it is one, else the text, for the reader of the job to object to.
fn number(answer: &str) -> Value {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let mut parts = answer.splitn(2, '.');
    let plain = digits(parts.next().unwrap_or_default()) && parts.next().is_none_or(digits);
    match answer.parse::<i64>() {
        Ok(n) if plain => n.into(),
        _ => match answer.parse::<f64>() {
            Ok(n) if plain => n.into(),
            _ => answer.into(),
        },
    }
}

/// A value as a person types it.
fn plain(item: &Item) -> Option<String> {
    Some(match item.as_value()? {
        Value::String(text) => text.value().clone(),
        Value::Integer(n) => n.display_repr().trim().to_string(),
        Value::Float(n) => n.display_repr().trim().to_string(),
        // One length for each row.
        Value::Array(list) => {
            let each = list.iter().map(|value| plain(&Item::Value(value.clone())));
            each.collect::<Option<Vec<String>>>()?.join(", ")
        }
        _ => return None,
    })
}
