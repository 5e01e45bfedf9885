//! A form's questions as JSON Schema (draft 7), so that an editor completes and checks a file while it is
//! written. It is never stricter than the reader, which has the last word.

use super::{
    Within,
    describe::{Field, Kind},
};
use serde_json::{Map, Value, json};

/// Digits, with a point or as a fraction, as [`crate::units::length`] reads them.
const FIGURE: &str =
    r"([0-9]+( +|-)[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]* *[½⅓⅔¼¾⅛⅜⅝⅞]|[0-9]*\.?[0-9]*)";
const INCH: &str = r#"(inches|inch|in|"|″|”)"#;
const OTHER_UNIT: &str = "(mm|cm|lines|line)";
const FOOT: &str = "(feet|foot|ft|'|′|’)";

/// The schema of a file; `says` is what the manual says of a key in a table.
pub fn schema(title: &str, fields: &[Field], says: &dyn Fn(&str, &str) -> Option<String>) -> Value {
    let mut schema = table(fields, "", says);
    let head =
        [("$schema", json!("http://json-schema.org/draft-07/schema#")), ("title", json!(title))];
    let mut whole: Map<String, Value> =
        head.map(|(key, value)| (key.to_string(), value)).into_iter().collect();
    whole.append(schema.as_object_mut().expect("a table is an object"));
    Value::Object(whole)
}

fn table(fields: &[Field], path: &str, says: &dyn Fn(&str, &str) -> Option<String>) -> Value {
    let mut properties = Map::new();
    for field in fields {
        let here =
            if path.is_empty() { field.key.to_string() } else { format!("{path}.{}", field.key) };
        let mut value = kind(&field.kind, &here, says);
        if let Some(text) = says(path, field.key) {
            value
                .as_object_mut()
                .expect("every kind is an object")
                .insert("description".to_string(), json!(text));
        }
        properties.insert(field.key.to_string(), value);
    }
    let required: Vec<&str> = fields.iter().filter(|f| f.required).map(|f| f.key).collect();
    json!({ "type": "object", "properties": properties, "required": required, "additionalProperties": false })
}

fn kind(kind: &Kind, path: &str, says: &dyn Fn(&str, &str) -> Option<String>) -> Value {
    match kind {
        Kind::Length(within) => either([
            number(*within),
            pattern(&format!(
                "^ *-?({FIGURE} *{FOOT} *({FIGURE} *{INCH})?|{FIGURE} *({INCH}|{OTHER_UNIT})?) *$"
            )),
        ]),
        Kind::LengthOrList(within) => {
            let length = self::kind(&Kind::Length(*within), path, says);
            either([length.clone(), json!({ "type": "array", "items": length, "minItems": 1 })])
        }
        Kind::Speed => either([
            number(Within::Positive),
            pattern(&format!("^ *-?{FIGURE} *(({INCH}|{OTHER_UNIT})? */ *(min|s))? *$")),
        ]),
        Kind::Number(within) => match within {
            Within::Between(least, most) => {
                json!({ "type": "number", "minimum": least, "maximum": most })
            }
            within => number(*within),
        },
        Kind::Count(least) => json!({ "type": "integer", "minimum": least, "maximum": 100_000 }),
        Kind::Text => json!({ "type": "string" }),
        Kind::Texts => json!({ "type": "array", "items": { "type": "string" } }),
        Kind::YesOrNo => json!({ "type": "boolean" }),
        Kind::Choice(words) => json!({ "enum": words }),
        Kind::Choices(words) => json!({ "type": "array", "items": { "enum": words } }),
        Kind::Lengths(n, within) => {
            let length = self::kind(&Kind::Length(*within), path, says);
            json!({ "type": "array", "items": length, "minItems": n, "maxItems": n })
        }
        Kind::Places => {
            let length = self::kind(&Kind::Length(Within::Signed), path, says);
            let place = json!({ "type": "array", "items": length, "minItems": 2, "maxItems": 3 });
            json!({ "type": "array", "items": place })
        }
        Kind::Range => {
            json!({ "type": "array", "items": { "type": "number" }, "minItems": 2, "maxItems": 2 })
        }
        Kind::Table(fields) => table(fields, path, says),
        Kind::Tables(fields) => json!({ "type": "array", "items": table(fields, path, says) }),
        Kind::Either(kinds) => {
            json!({ "anyOf": kinds.iter().map(|k| self::kind(k, path, says)).collect::<Vec<_>>() })
        }
    }
}

fn either(ways: [Value; 2]) -> Value {
    json!({ "anyOf": ways })
}

fn pattern(text: &str) -> Value {
    json!({ "type": "string", "pattern": text })
}

/// A bare number is in the file's unit, so bounds in millimetres say nothing about it.
fn number(within: Within) -> Value {
    match within {
        Within::Positive => json!({ "type": "number", "exclusiveMinimum": 0 }),
        Within::NotNegative => json!({ "type": "number", "minimum": 0 }),
        Within::Signed | Within::Between(..) => json!({ "type": "number" }),
    }
}

/// What a manual's table of keys says of a key: its row begins with the table's name in square brackets and
/// the keys, each in backticks, or with `…` for the table of the row before.
pub fn manual<'m>(page: &'m str) -> impl Fn(&str, &str) -> Option<String> + use<'m> {
    let mut rows: Vec<(Vec<String>, Vec<String>, &'m str)> = Vec::new();
    for line in page.lines().filter(|line| line.starts_with("| ")) {
        let mut cells = line.trim_matches('|').split(" | ").map(str::trim);
        let (Some(first), Some(text)) = (cells.next(), cells.next()) else { continue };
        let words: Vec<&str> = first.split('`').skip(1).step_by(2).collect();
        let (tables, keys): (Vec<&str>, Vec<&str>) =
            words.iter().partition(|word| word.starts_with('['));
        let tables: Vec<String> =
            tables.iter().map(|table| table.trim_matches(['[', ']']).to_string()).collect();
        let tables = match rows.last() {
            Some((before, ..)) if first.starts_with('…') => before.clone(),
            _ if tables.is_empty() => vec![String::new()],
            _ => tables,
        };
        rows.push((tables, keys.iter().map(|key| key.to_string()).collect(), text));
    }
    move |table, key| {
        let here = |row: &&(Vec<String>, Vec<String>, &str)| {
            row.0.iter().any(|t| t == table) && row.1.iter().any(|k| k == key)
        };
        // A table is described by the row that names it without keys.
        let full = if table.is_empty() { key.to_string() } else { format!("{table}.{key}") };
        let named =
            |row: &&(Vec<String>, Vec<String>, &str)| row.1.is_empty() && row.0.contains(&full);
        rows.iter().find(here).or_else(|| rows.iter().find(named)).map(|row| row.2.replace('`', ""))
    }
}
