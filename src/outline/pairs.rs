//! What of a DXF drawing matters here, as text: its unit and the entities of one layer.
//!
//! The reading itself is the `dxf` crate's. It is given less than the whole, because it panics on dates it
//! cannot read, drops what it does not know without a word, and would read blocks, objects and pictures of
//! a large drawing only to throw them away.

use std::collections::BTreeMap;

/// A drawing cut down to what an outline is made from.
pub struct Cut {
    /// A drawing with nothing but the header's version and unit, and the entities.
    pub text: String,
    /// Entities of the wanted kinds, by layer.
    pub layers: BTreeMap<String, usize>,
    /// Entities of the layer of other kinds, by their kind.
    pub others: BTreeMap<String, usize>,
}

/// Kinds of entity that an outline is made from.
pub const LINES: [&str; 7] =
    ["LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "ELLIPSE", "SPLINE"];

/// Kinds of entity that mark a place.
pub const PLACES: [&str; 2] = ["CIRCLE", "POINT"];

/// Cuts a drawing down to the entities of some kinds on `layer` (all layers where there is none). `Err` says why it
/// is no drawing.
pub fn cut(text: &str, layer: Option<&str>, kinds: &[&str]) -> Result<Cut, String> {
    let mut cut = Cut {
        text: "0\nSECTION\n2\nHEADER\n".to_string(),
        layers: BTreeMap::new(),
        others: BTreeMap::new(),
    };
    let mut pairs = Pairs { lines: text.lines(), line: 0 };
    let mut entities = String::from("0\nENDSEC\n0\nSECTION\n2\nENTITIES\n");
    let mut section = String::new();
    let mut variable = String::new();
    let mut entity = Entity::default();
    while let Some((code, value)) = pairs.next()? {
        match (code, value, section.as_str()) {
            (0, "SECTION", _) => section = "?".to_string(),
            (2, name, "?") => section = name.to_string(),
            (0, "ENDSEC" | "EOF", _) => {
                entity.put(&mut cut, &mut entities, layer, kinds);
                section.clear();
            }
            (9, name, "HEADER") => variable = name.to_string(),
            (_, _, "HEADER") if variable == "$ACADVER" || variable == "$INSUNITS" => {
                cut.text.push_str(&format!("9\n{variable}\n{code}\n{value}\n"));
            }
            (0, kind, "ENTITIES") => {
                let part = matches!(kind, "VERTEX" | "SEQEND") && entity.kind == "POLYLINE";
                if !part {
                    entity.put(&mut cut, &mut entities, layer, kinds);
                    entity.kind = kind.to_string();
                }
                entity.begun = part;
                entity.add(code, value);
            }
            (_, _, "ENTITIES") => {
                match (code, entity.begun) {
                    (8, false) => entity.layer = value.to_string(),
                    (67, false) => entity.on_paper = value == "1",
                    _ => {}
                }
                entity.add(code, value);
            }
            _ => {}
        }
    }
    entity.put(&mut cut, &mut entities, layer, kinds);
    cut.text.push_str(&entities);
    cut.text.push_str("0\nENDSEC\n0\nEOF\n");
    Ok(cut)
}

/// One entity with what belongs to it.
#[derive(Default)]
struct Entity {
    kind: String,
    layer: String,
    on_paper: bool,
    /// Within a part of it, whose layer is its own.
    begun: bool,
    text: String,
}

impl Entity {
    fn add(&mut self, code: i32, value: &str) {
        self.text.push_str(&format!("{code}\n{value}\n"));
    }

    fn put(&mut self, cut: &mut Cut, entities: &mut String, layer: Option<&str>, kinds: &[&str]) {
        let entity = std::mem::take(self);
        if entity.kind.is_empty() || entity.on_paper {
            return;
        }
        let known = kinds.contains(&entity.kind.as_str());
        if known {
            *cut.layers.entry(entity.layer.clone()).or_default() += 1;
        }
        if layer.is_some_and(|layer| !layer.eq_ignore_ascii_case(&entity.layer)) {
            return;
        }
        match known {
            true => entities.push_str(&entity.text),
            false => *cut.others.entry(entity.kind).or_default() += 1,
        }
    }
}

/// Group codes with their values.
struct Pairs<'a> {
    lines: std::str::Lines<'a>,
    line: usize,
}

impl<'a> Pairs<'a> {
    fn next(&mut self) -> Result<Option<(i32, &'a str)>, String> {
        let Some(code) = self.lines.next() else { return Ok(None) };
        self.line += 1;
        if code.trim().is_empty() && self.lines.clone().next().is_none() {
            return Ok(None);
        }
        let number = code.trim().parse::<i32>();
        let value = self.lines.next();
        let (Ok(number), Some(value)) = (number, value) else {
            return Err(format!("line {} of the drawing is no DXF", self.line));
        };
        self.line += 1;
        Ok(Some((number, value.trim())))
    }
}
