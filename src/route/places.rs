//! Lists of places as text: `x y` lines, or TSPLIB with EUC_2D weights.

use super::Place;

/// The line of a TSPLIB file that its places follow.
const SECTION: &str = "NODE_COORD_SECTION";

/// What is wrong with a list of places, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unreadable {
    /// Line, from 1; 0 is the file as a whole.
    pub line: usize,
    /// One sentence without a full stop.
    pub message: String,
}

impl std::fmt::Display for Unreadable {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        match self.line {
            0 => write!(f, "{}", self.message),
            line => write!(f, "line {line}: {}", self.message),
        }
    }
}

impl std::error::Error for Unreadable {}

/// Reads places in mm: one `x y` a line (blanks or a comma between, `#` begins a remark), or a
/// TSPLIB file whose weights are EUC_2D (Reinelt, "TSPLIB 95", 1995, from memory).
///
/// The first line that is wrong ends it. A text without places gives an empty list.
pub fn read(text: &str) -> Result<Vec<Place>, Unreadable> {
    let is_tsplib = text.lines().any(|line| line.trim() == SECTION) || headed(text);
    let mut places = Vec::new();
    let mut wanted = None;
    let mut within = !is_tsplib;
    let mut found = within;
    for (number, line) in text.lines().enumerate() {
        let wrong = |message: String| Unreadable { line: number + 1, message };
        let line = line.trim_start_matches('\u{feff}').trim();
        if within {
            if is_tsplib && matches!(line, "EOF" | "-1") {
                within = false;
                continue;
            }
            let line = if is_tsplib { line } else { line.split('#').next().unwrap_or("").trim() };
            if line.is_empty() {
                continue;
            }
            places.push(place(line, is_tsplib).map_err(wrong)?);
        } else if line == SECTION {
            (within, found) = (true, true);
        } else if let Some((key, value)) = line.split_once(':') {
            match (key.trim(), value.trim()) {
                ("TYPE", kind) if kind.split_whitespace().next() != Some("TSP") => {
                    return Err(wrong(format!("a file of type {kind}; only TSP can be ordered")));
                }
                ("EDGE_WEIGHT_TYPE", kind) if kind != "EUC_2D" => {
                    return Err(wrong(format!("weights of type {kind}; only EUC_2D can be read")));
                }
                ("DIMENSION", count) => match count.parse::<usize>() {
                    Ok(count) => wanted = Some((number + 1, count)),
                    Err(_) => return Err(wrong(format!("'{count}' is not a number of places"))),
                },
                _ => {}
            }
        }
    }
    if !found {
        let message =
            format!("a TSPLIB file without a line {SECTION}, after which its places stand");
        return Err(Unreadable { line: 0, message });
    }
    match wanted {
        Some((line, count)) if count != places.len() => Err(Unreadable {
            line,
            message: format!("{count} places announced, {} found", places.len()),
        }),
        _ => Ok(places),
    }
}

/// Whether the first line that holds anything is a head as TSPLIB files have it.
fn headed(text: &str) -> bool {
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or("");
    let key =
        first.trim_start_matches('\u{feff}').split_once(':').map_or("", |(key, _)| key.trim());
    ["NAME", "TYPE", "COMMENT", "DIMENSION", "EDGE_WEIGHT_TYPE"].contains(&key)
}

fn place(line: &str, numbered: bool) -> Result<Place, String> {
    let mut words =
        line.split(|c: char| c.is_whitespace() || c == ',' || c == ';').filter(|w| !w.is_empty());
    if numbered {
        words.next();
    }
    let mut coordinate = |name: &str| {
        let word = words.next().ok_or(format!("{name} is missing"))?;
        match word.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(value),
            _ => Err(format!("'{word}' is not a number; write {name} in mm, as in 12.5")),
        }
    };
    let place = [coordinate("x")?, coordinate("y")?];
    match words.next() {
        None => Ok(place),
        Some(word) => Err(format!("'{word}' is one word too many; a line holds x and y")),
    }
}
