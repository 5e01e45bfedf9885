//! A value of the file as what it is to be, or a note at its place that says why it is not.

use super::{
    Form, LONGEST, Within, either, nearest,
    wording::{kind, plain_number},
};
use crate::units;
use toml::{Spanned, de::DeValue};

impl<'a> Form<'a> {
    pub(super) fn as_list<const N: usize>(
        &self,
        key: &str,
        value: &'a Spanned<DeValue<'a>>,
        item: impl Fn(&Self, &'a Spanned<DeValue<'a>>) -> Option<f64>,
    ) -> Option<[f64; N]> {
        let items: Option<&[Spanned<DeValue>; N]> =
            value.get_ref().as_array().and_then(|list| list[..].try_into().ok());
        if items.is_none() {
            self.wrong(
                value,
                format!("`{key}` is a list of {N} values"),
                &format!("write {key} = [0, 40]"),
            );
        }
        Some(items?.each_ref().map(|v| item(self, v).unwrap_or(f64::NAN)))
    }

    pub(super) fn as_length(
        &self,
        key: &str,
        value: &Spanned<DeValue>,
        within: Within,
    ) -> Option<f64> {
        let number = match value.get_ref() {
            DeValue::String(text) => units::length(text, self.unit),
            other => plain_number(other).map(|n| n * self.unit.mm()),
        };
        let Some(mm) = number.filter(|n| n.is_finite()) else {
            let message = match value.get_ref() {
                DeValue::String(text) => format!("`{text}` is not a length"),
                _ => format!("`{key}` is a length, not {}", kind(value)),
            };
            self.wrong(value, message, "write a number with its unit, such as \"230 mm\", \"9 in\", \"7 1/4 in\" or \"36 line\"");
            return None;
        };
        if mm.abs() > LONGEST {
            self.wrong(
                value,
                format!("`{key}` comes to {:.0} m, which cannot be meant", mm / 1000.0),
                "write a length of at most 20 m; a bare number is in the file's `units`",
            );
            return None;
        }
        self.within(key, value, mm, within, "mm")
    }

    pub(super) fn as_speed(&self, key: &str, value: &Spanned<DeValue>) -> Option<f64> {
        let number = match value.get_ref() {
            DeValue::String(text) => units::speed(text, self.unit),
            other => plain_number(other).map(|n| n * self.unit.mm()),
        };
        let Some(speed) = number.filter(|n| n.is_finite()) else {
            self.wrong(
                value,
                format!("`{key}` is a speed, and this is not one"),
                "write a speed such as 1500, \"1500 mm/min\", \"60 in/min\" or \"25 mm/s\"",
            );
            return None;
        };
        self.within(key, value, speed, Within::Between(0.001, 1e6), "mm/min")
    }

    pub(super) fn as_number(
        &self,
        key: &str,
        value: &Spanned<DeValue>,
        within: Within,
    ) -> Option<f64> {
        let Some(number) = plain_number(value.get_ref()).filter(|n| n.is_finite()) else {
            self.wrong(
                value,
                format!("`{key}` is a number, not {}", kind(value)),
                "write a plain number, without quotes or unit",
            );
            return None;
        };
        if number.abs() > 1e9 {
            self.wrong(
                value,
                format!("`{key}` is {number}, which cannot be meant"),
                "write a smaller number",
            );
            return None;
        }
        self.within(key, value, number, within, "")
    }

    pub(super) fn as_count(&self, key: &str, value: &Spanned<DeValue>, least: u32) -> Option<u32> {
        let number = value
            .get_ref()
            .as_integer()
            .and_then(|i| i64::from_str_radix(i.as_str(), i.radix()).ok());
        let count =
            number.and_then(|n| u32::try_from(n).ok()).filter(|n| (least..=100_000).contains(n));
        if count.is_none() {
            self.wrong(
                value,
                format!("`{key}` must be a whole number, at least {least}"),
                &format!("write {key} = {}", least.max(2)),
            );
        }
        count
    }

    pub(super) fn as_text(&self, key: &str, value: &Spanned<DeValue>) -> Option<String> {
        let text = value.get_ref().as_str();
        if text.is_none() {
            self.wrong(
                value,
                format!("`{key}` is a text, not {}", kind(value)),
                "put it in \"quotes\"",
            );
        }
        text.map(str::to_string)
    }

    pub(super) fn as_choice<T: Copy>(
        &self,
        key: &str,
        value: &Spanned<DeValue>,
        words: &[(&str, T)],
    ) -> Option<T> {
        let text = value.get_ref().as_str();
        let found = words.iter().find(|(word, _)| Some(*word) == text);
        if found.is_none() {
            let wanted = either(words.iter().map(|(word, _)| format!("\"{word}\"")));
            let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let help = match text.and_then(|text| nearest(text, &known)) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("write {wanted}"),
            };
            self.wrong(value, format!("`{key}` must be {wanted}"), &help);
        }
        found.map(|(_, choice)| *choice)
    }

    fn within(
        &self,
        key: &str,
        value: &Spanned<DeValue>,
        n: f64,
        within: Within,
        unit: &str,
    ) -> Option<f64> {
        let (fits, wanted) = match within {
            Within::Positive => (n > 0.0, "must be more than 0".to_string()),
            Within::NotNegative => (n >= 0.0, "cannot be less than 0".to_string()),
            Within::Signed => (true, String::new()),
            Within::Between(least, most) => (
                (least..=most).contains(&n),
                format!("must be from {least} to {most} {unit}").trim_end().to_string(),
            ),
        };
        if !fits {
            let help = match within {
                Within::Between(least, most) => {
                    format!("write a value from {least} to {most} {unit}").trim_end().to_string()
                }
                _ if n < 0.0 => "write it without the minus sign, or measure again".to_string(),
                _ => "write a value above 0".to_string(),
            };
            self.wrong(value, format!("`{key}` {wanted}"), &help);
        }
        fits.then_some(n)
    }
}
