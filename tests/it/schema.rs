//! The schema, the shell's completions and the manual pages: made from the readers and the command line
//! themselves, so only what could still come apart is held here.

use crate::{
    cli::{bradawl, workshop},
    demo::home,
};
use bradawl::{form, job, machine};
use serde_json::Value;
use std::fs;

fn schema(of: &str) -> Value {
    let assert = bradawl(home()).args(["schema", of]).assert().code(0);
    serde_json::from_slice(&assert.get_output().stdout).expect("JSON")
}

/// Every key that a reader looks for is in the schema, or is there only to say that it comes later.
#[test]
fn no_key_of_a_reader_is_missing_from_its_schema() {
    let files =
        [("job", job::keys()), ("machine", machine::keys()), ("prices", job::prices::keys())];
    for (file, (fields, only_looked_for)) in files {
        assert!(fields.len() > 5, "{file}");
        for key in only_looked_for {
            assert!(
                key.starts_with("panel."),
                "{file}: `{key}` is asked for by no question of `form`"
            );
        }
    }
}

#[test]
fn the_schema_knows_what_is_required_and_what_hangs_on_what() {
    let job = schema("job");
    let at = |path: &str| path.split('.').fold(&job, |value, key| &value["properties"][key]);
    let required = |path: &str| at(path)["required"].as_array().expect("a list").clone();
    assert_eq!(required("board"), ["thickness", "hole"]);
    assert!(required("pattern.diamond").contains(&"edge".into()));
    assert!(!required("pattern.diamond").contains(&"width".into()), "counts do as well");
    assert_eq!(
        at("pattern.diamond.edge")["anyOf"].as_array().map(Vec::len),
        Some(2),
        "a figure or a table"
    );
    assert_eq!(at("board.face_up")["enum"], serde_json::json!(["front", "back"]));
    let machine = schema("machine");
    let bed = &machine["properties"]["bed"];
    assert_eq!(bed["required"], serde_json::json!(["x", "y"]), "a plotter needs no more");
    assert_eq!(machine["properties"]["tool"]["items"]["additionalProperties"], false);
}

/// What the manual says of a key is what the editor shows; a key it says nothing of is not explained anywhere.
#[test]
fn the_manuals_say_something_of_every_key() {
    fn holds(
        fields: &[form::Field],
        table: &str,
        says: &dyn Fn(&str, &str) -> Option<String>,
        missing: &mut Vec<String>,
    ) {
        for field in fields {
            let here = if table.is_empty() {
                field.key.to_string()
            } else {
                format!("{table}.{}", field.key)
            };
            let said = says(table, field.key).is_some();
            match &field.kind {
                _ if said => {} // a small table such as { x = …, y = … } is explained by its own key
                form::Kind::Table(inner) | form::Kind::Tables(inner) => {
                    holds(inner, &here, says, missing);
                }
                _ => missing.push(here),
            }
        }
    }
    let pages = [
        ("jobs/README.md", job::keys().0, include_str!("../../jobs/README.md")),
        ("jobs/README.md", job::prices::keys().0, include_str!("../../jobs/README.md")),
        ("machines/README.md", machine::keys().0, include_str!("../../machines/README.md")),
    ];
    for (name, fields, page) in pages {
        let mut missing = Vec::new();
        holds(&fields, "", &form::manual(page), &mut missing);
        assert_eq!(missing, Vec::<String>::new(), "these keys have no row in {name}");
    }
}

#[test]
fn a_key_is_described_in_the_editor_as_in_the_manual() {
    let job = schema("job");
    let says = &job["properties"]["board"]["properties"]["face_up"]["description"];
    assert_eq!(says, "which face lies up on the machine: \"front\" or \"back\"");
}

#[test]
fn shells_and_man_get_every_command() {
    let folder = workshop();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let assert = bradawl(folder.path()).args(["completions", shell]).assert().code(0);
        let text = String::from_utf8_lossy(&assert.get_output().stdout).into_owned();
        for word in ["make", "layout", "dry-run", "machines", "new", "schema", "diamond-width"] {
            assert!(text.contains(word), "{shell}: {word}");
        }
    }
    bradawl(folder.path()).args(["man", "pages/man1"]).assert().code(0);
    let mut pages: Vec<String> = fs::read_dir(folder.path().join("pages/man1"))
        .expect("a folder")
        .map(|entry| entry.expect("readable").file_name().to_string_lossy().into_owned())
        .collect();
    pages.sort();
    let with = |name: &str| pages.iter().any(|page| page == name);
    assert!(with("bradawl.1") && with("bradawl-make.1") && with("bradawl-dry-run.1"), "{pages:?}");
    assert!(!with("bradawl-order.1"), "a hidden command stays hidden: {pages:?}");
    let page = fs::read_to_string(folder.path().join("pages/man1/bradawl-make.1")).expect("a page");
    assert!(page.contains(".TH") && page.contains("several at once"), "{page}");
}
