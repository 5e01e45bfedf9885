//! The words of a form's messages.

use toml::{Spanned, de::DeValue};

pub(super) fn all<T>(words: &[(&str, T)]) -> Vec<String> {
    words.iter().map(|(word, _)| word.to_string()).collect()
}

/// The word of `known` that is most likely meant by `word`.
pub fn nearest<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    let near = known.iter().map(|k| (strsim::damerau_levenshtein(word, k), *k)).min()?;
    (near.0 <= 2.max(word.len() / 3)).then_some(near.1)
}

/// `a, b or c`.
pub fn either(words: impl Iterator<Item = String>) -> String {
    let words: Vec<String> = words.collect();
    match words.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
        None => String::new(),
    }
}

pub(super) fn plain_number(value: &DeValue) -> Option<f64> {
    match value {
        DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix()).ok().map(|n| n as f64),
        DeValue::Float(f) => f.as_str().parse().ok(),
        _ => None,
    }
}

pub(super) fn kind(value: &Spanned<DeValue>) -> &'static str {
    match value.get_ref() {
        DeValue::String(_) => "a text",
        DeValue::Float(f) if !f.as_str().parse::<f64>().is_ok_and(f64::is_finite) => {
            "a number without end"
        }
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
