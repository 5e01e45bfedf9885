//! Text for pages: the user's words made harmless, templates with named slots, figures for drawings.

use crate::words::decimal;

/// Any text, fit to stand between tags or in a quoted attribute.
pub fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            c => safe.push(c),
        }
    }
    safe
}

/// Puts each value into its `{{slot}}`, in one pass: a value that itself holds braces is never filled.
/// Every slot has a value and every value a slot, or the page and the code have grown apart.
pub fn fill(template: &str, values: &[(&str, &str)]) -> String {
    let mut page =
        String::with_capacity(template.len() + values.iter().map(|v| v.1.len()).sum::<usize>());
    let mut used = vec![false; values.len()];
    let mut rest = template;
    while let Some((before, after)) = rest.split_once("{{") {
        let (slot, after) = after.split_once("}}").expect("a slot of a template is closed");
        let found = values.iter().position(|(name, _)| *name == slot);
        let found = found.unwrap_or_else(|| panic!("the template's slot `{slot}` has no value"));
        page.push_str(before);
        page.push_str(values[found].1);
        used[found] = true;
        rest = after;
    }
    page.push_str(rest);
    assert!(used.iter().all(|used| *used), "the template uses every value it is given");
    page
}

/// A list of texts as `<li>`s, escaped.
pub fn items<'a>(texts: impl IntoIterator<Item = &'a str>) -> String {
    texts.into_iter().map(|text| format!("<li>{}</li>", escape(text))).collect()
}

/// A length of a drawing, to the hundredth of a millimetre.
pub fn mm(n: f64) -> String {
    decimal(n, 2)
}

/// A place of a drawing: drawings count Y downwards, the bench upwards.
pub fn place([x, y]: [f64; 2]) -> String {
    format!("{} {}", mm(x), mm(-y))
}
