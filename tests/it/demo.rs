//! Jobs for tests: a small valid job whose parts can be exchanged.

use bradawl::{
    diag::Source,
    job::{self, Job},
    machine::{self, Machine, Work},
    make::{self, Made, Refused, Wanted},
    paper::Paper,
    route::Effort,
};
use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
    sync::LazyLock,
};

/// The parts of a job file in order; `job_text` exchanges them by name.
const PARTS: [(&str, &str); 11] = [
    ("title", "\"Trial panel\""),
    ("units", "\"mm\""),
    ("panel", "[panel.rectangle]\nwidth = \"720 mm\"\nheight = \"480 mm\""),
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

/// The folder of the package.
pub fn home() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A job that comes with the tool, made.
pub struct Demo {
    pub name: String,
    pub job: Job,
    pub made: Made,
}

/// All jobs that come with the tool, each made once for all tests.
pub fn demos() -> &'static [Demo] {
    static DEMOS: LazyLock<Vec<Demo>> = LazyLock::new(|| {
        let make = |(name, job)| Demo { name, made: made(&job), job };
        demo_jobs().into_iter().map(make).collect()
    });
    &DEMOS
}

/// The job files that come with the tool, by name.
pub fn demo_jobs() -> Vec<(String, Job)> {
    let read = |(name, source): (String, Source)| {
        let job = job::read(&source).unwrap_or_else(|wrong| panic!("{name}: {wrong:#?}"));
        let hands = job.hands().into_iter();
        hands.map(move |job| (format!("{}{name}", job.prefix), job)).collect::<Vec<_>>()
    };
    sources("jobs").into_iter().flat_map(read).collect()
}

/// The machine files that come with the tool.
pub fn machines() -> BTreeMap<String, Machine> {
    // Read once: the tests of dangers ask for them a thousand times.
    static MACHINES: LazyLock<BTreeMap<String, Machine>> = LazyLock::new(|| {
        let read = |(name, source): (String, Source)| {
            let machine =
                machine::read(&name, &source).unwrap_or_else(|wrong| panic!("{name}: {wrong:#?}"));
            (name, machine)
        };
        sources("machines").into_iter().map(read).collect()
    });
    MACHINES.clone()
}

/// Every `.toml` of a folder, by name, in order.
fn sources(folder: &str) -> Vec<(String, Source)> {
    let mut paths: Vec<_> = fs::read_dir(home().join(folder))
        .expect("the folder is there")
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    paths.sort();
    let read = |path: &PathBuf| {
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let text = fs::read_to_string(path).expect("readable");
        (name, Source { name: path.display().to_string(), text })
    };
    paths.iter().map(read).collect()
}

/// The board alone, on any machines.
pub fn board(job: &Job, machines: &BTreeMap<String, Machine>) -> Result<Made, Refused> {
    let (works, effort, paper) = (&[Work::Board], Effort::Quick, Paper::A4);
    make::make(&Wanted { job, machines, works, effort, paper }, &|_| {})
}

/// A job made in memory on the machines that come with the tool.
pub fn made(job: &Job) -> Made {
    make::make(
        &Wanted {
            job,
            machines: &machines(),
            works: &Work::ALL,
            effort: Effort::Normal,
            paper: Paper::A4,
        },
        &|_| {},
    )
    .unwrap_or_else(|refused| panic!("{refused:#?}"))
}
