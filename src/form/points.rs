//! Lists of places: `[[x, y], [x, y, radius], …]`.

use super::{Form, Given, Kind, Within, wording::kind};
use toml::{Spanned, de::DeValue};

impl<'a> Form<'a> {
    /// Places with two or three lengths each, the third not negative.
    pub fn points(&mut self, key: &'static str, such_as: &str) -> Vec<Given<Vec<f64>>> {
        self.tell(key, Kind::Places, true);
        let wanted = format!("a list of places, such as {such_as}");
        self.required(key, &wanted, Vec::new(), |f, value| {
            let Some(list) = value.get_ref().as_array() else {
                let help = format!("write {key} = {such_as}");
                f.wrong(value, format!("`{key}` is a list of places, not {}", kind(value)), &help);
                return Some(Vec::new());
            };
            Some(list.iter().filter_map(|item| f.as_point(key, item)).collect())
        })
        .value
    }

    /// One place, `[x, y]`.
    pub fn place(&mut self, key: &'static str) -> Given<[f64; 2]> {
        self.lengths::<2>(key, Within::Signed)
    }

    fn as_point(&self, key: &str, value: &'a Spanned<DeValue<'a>>) -> Option<Given<Vec<f64>>> {
        let items = value.get_ref().as_array().filter(|list| (2..=3).contains(&list.len()));
        let Some(items) = items else {
            self.wrong(
                value,
                format!("a place of `{key}` is [x, y] or [x, y, radius]"),
                "write two lengths, or three where the corner is rounded",
            );
            return None;
        };
        let lengths = items.iter().enumerate().map(|(i, item)| {
            let (key, within) =
                if i < 2 { (key, Within::Signed) } else { ("radius", Within::NotNegative) };
            self.as_length(key, item, within).unwrap_or(f64::NAN)
        });
        Some(Given { value: lengths.collect(), span: value.span() })
    }
}
