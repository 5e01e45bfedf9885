//! Jobs for tests: a small valid job whose parts can be exchanged.

use bradawl::{
    diag::Source,
    job::{self, Job},
};

/// The parts of a job file in order; `job_text` exchanges them by name.
const PARTS: [(&str, &str); 11] = [
    ("title", "\"Trial panel\""),
    ("units", "\"mm\""),
    ("panel", "[panel.rectangle]\nwidth = \"800 mm\"\nheight = \"500 mm\""),
    ("board", "[board]\nthickness = \"12 mm\"\nhole = \"8 mm\""),
    ("foam", "[foam]\nthickness = \"50 mm\"\nhole = \"30 mm\""),
    ("wadding", "[wadding]\nthickness = \"8 mm\""),
    ("button", "[button]\ndiameter = \"36 line\""),
    ("pattern", "[pattern.diamond]\nwidth = \"120 mm\"\nheight = \"180 mm\"\nedge = \"90 mm\""),
    ("fabric", "[fabric]\nroll_width = \"1400 mm\"\nturn_in = \"75 mm\""),
    ("allowance", "[fabric.allowance.measured]\nacross = \"60 mm\"\ndown = \"45 mm\""),
    ("on", "[on]\nboard = \"bench-router\"\nfoam = \"bench-router\"\nfabric = \"roll-plotter\""),
];

/// A job file with some of its parts exchanged.
pub fn job_text(changes: &[(&str, &str)]) -> String {
    for (name, _) in changes {
        assert!(PARTS.iter().any(|(part, _)| part == name), "there is no part `{name}`");
    }
    let mut text = String::new();
    for (name, part) in PARTS {
        let part =
            changes.iter().find(|(changed, _)| *changed == name).map_or(part, |(_, new)| new);
        match name {
            "title" | "units" => text.push_str(&format!("{name} = {part}\n")),
            _ => text.push_str(&format!("{part}\n\n")),
        }
    }
    text
}

pub fn source(text: &str) -> Source {
    Source { name: "trial.toml".to_string(), text: text.to_string() }
}

pub fn job(text: &str) -> Job {
    job::read(&source(text)).unwrap_or_else(|wrong| panic!("{wrong:#?}\n{text}"))
}
