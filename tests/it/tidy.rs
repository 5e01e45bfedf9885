//! The house's rules, held against the source.

use std::{fs, path::Path};

/// The rooms in the order of the pipeline. A room imports only from rooms before it.
const ROOMS: [&str; 22] = [
    "units", "words", "frame", "diag", "form", "notice", "machine", "job", "outline", "layout",
    "route", "plan", "emit", "gcode", "sim", "verify", "program", "paper", "show", "ask", "make",
    "cli",
];

/// Rooms that must never see each other, though the order would let them: the checker knows nothing of
/// the writer, the route nothing of buttons, the cover's layout nothing of programs.
const ABSENT: [(&str, &[&str]); 9] = [
    ("gcode", &["job", "layout", "route", "plan", "emit", "machine"]),
    ("sim", &["job", "layout", "route", "plan", "emit", "outline", "frame"]),
    ("verify", &["emit", "route", "job", "outline", "frame"]),
    ("route", &["units", "frame", "machine", "job", "layout"]),
    ("emit", &["route"]),
    ("layout", &["machine::read", "notice"]),
    ("plan", &["notice", "words"]),
    ("machine", &["words"]),
    ("paper", &["job", "layout", "plan", "machine", "program"]),
];

fn sources(folder: &Path, found: &mut Vec<(String, String)>) {
    let mut entries: Vec<_> =
        fs::read_dir(folder).expect("src is there").map(|e| e.expect("readable").path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            let name = path
                .strip_prefix(env!("CARGO_MANIFEST_DIR"))
                .expect("in the package")
                .display()
                .to_string();
            found.push((name, fs::read_to_string(&path).expect("readable")));
        }
    }
}

/// Every file of the source.
pub fn all() -> Vec<(String, String)> {
    let mut found = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut found);
    assert!(found.len() > 20, "the source was found");
    found
}

/// The room of `src/ROOM.rs` or `src/ROOM/…`.
fn room(file: &str) -> &str {
    let rest = file.trim_start_matches("src/");
    rest.split(['/', '.']).next().expect("a name")
}

/// All rooms named after `crate::` in a file, also in braces.
fn imports(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let code: Vec<&str> =
        text.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
    let text = &code.join("\n");
    for (at, _) in text.match_indices("crate::") {
        let rest = &text[at + "crate::".len()..];
        let inside = match rest.strip_prefix('{') {
            Some(list) => top_level(list),
            None => vec![rest],
        };
        for path in inside {
            let name: String = path
                .trim_start()
                .chars()
                .take_while(|c| c.is_ascii_alphanumeric() || *c == '_')
                .collect();
            found.push(name);
        }
    }
    found
}

/// The paths of a braced list, split at its own commas.
fn top_level(list: &str) -> Vec<&str> {
    let (mut depth, mut start, mut paths) = (0, 0, Vec::new());
    for (at, c) in list.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                paths.push(&list[start..at]);
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                paths.push(&list[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    paths.retain(|path| !path.trim().is_empty());
    paths
}

#[test]
fn every_room_imports_only_from_the_rooms_before_it() {
    let place = |room: &str| ROOMS.iter().position(|r| *r == room);
    for (file, text) in all() {
        let here = room(&file).to_string();
        if ["lib", "main"].contains(&here.as_str()) {
            continue;
        }
        let from =
            place(&here).unwrap_or_else(|| panic!("{file}: the room `{here}` is not in the table"));
        for import in imports(&text) {
            let to = place(&import)
                .unwrap_or_else(|| panic!("{file}: `crate::{import}` is not in the table"));
            assert!(
                to <= from,
                "{file}: `{here}` must not import `{import}`, which comes after it"
            );
        }
    }
}

#[test]
fn rooms_that_must_not_see_each_other_do_not() {
    for (file, text) in all() {
        for (here, absent) in ABSENT {
            if room(&file) != here {
                continue;
            }
            for import in imports(&text) {
                assert!(
                    !absent.contains(&import.as_str()),
                    "{file}: `{here}` must never import `{import}`"
                );
            }
        }
    }
}

#[test]
fn the_list_of_rooms_in_lib_rs_is_the_pipeline() {
    let lib = include_str!("../../src/lib.rs");
    let listed: Vec<&str> =
        lib.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    assert_eq!(listed, ROOMS);
}

#[test]
fn every_file_says_what_it_is_and_none_is_too_long() {
    for (file, text) in all() {
        assert!(text.starts_with("//!"), "{file} begins with what it is for");
        let lines = text.lines().count();
        assert!(lines <= 600, "{file} has {lines} lines; split it");
    }
}

#[test]
fn every_dependency_carries_its_reason() {
    let manifest = include_str!("../../Cargo.toml");
    let mut within = false;
    for line in manifest.lines() {
        if line.starts_with('[') {
            within = line.ends_with("dependencies]");
        } else if within && line.contains('=') {
            assert!(line.contains(" # "), "`{line}` does not say why it is needed");
        }
    }
}
