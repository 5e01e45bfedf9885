//! What the pages say is what happens.

use crate::demo::{home, source};
use assert_cmd::Command;
use bradawl::{job, machine};
use std::fs;

const PAGES: [(&str, &str); 2] = [
    ("README.md", include_str!("../../README.md")),
    ("jobs/README.md", include_str!("../../jobs/README.md")),
];

/// The fenced blocks of a page in a language.
fn blocks<'a>(page: &'a str, language: &str) -> Vec<&'a str> {
    let open = format!("```{language}\n");
    page.split(&open)
        .skip(1)
        .map(|rest| rest.split("```").next().expect("a closed block"))
        .collect()
}

fn make(folder: &std::path::Path, job: &str) -> String {
    let assert = Command::cargo_bin("bradawl")
        .expect("the program is built")
        .current_dir(folder)
        .args(["make", job, "--machines"])
        .arg(home().join("machines"))
        .assert()
        .code(0);
    String::from_utf8(assert.get_output().stdout.clone()).expect("text")
}

#[test]
fn every_job_on_the_pages_can_be_made() {
    for (name, page) in PAGES {
        let jobs = blocks(page, "toml");
        assert!(!jobs.is_empty(), "{name} shows a job");
        for text in jobs {
            let folder = tempfile::tempdir().expect("a folder");
            fs::write(folder.path().join("shown.toml"), text).expect("written");
            make(folder.path(), "shown.toml");
            assert!(folder.path().join("out/shown/board.nc").exists(), "{name}");
        }
    }
}

#[test]
fn the_readme_shows_what_its_command_says() {
    let (_, page) = PAGES[0];
    let command = blocks(page, "sh")[0].trim();
    let job =
        command.strip_prefix("cargo run --release -- make ").expect("the README's first command");
    let folder = tempfile::tempdir().expect("a folder");
    let said = make(folder.path(), &home().join(job).to_string_lossy());
    assert_eq!(said, blocks(page, "text")[0]);
}

/// The files that are there to be copied are files that can be read.
#[test]
fn every_file_to_copy_can_be_read() {
    for folder in ["jobs", "machines"] {
        let mut found = 0;
        for entry in fs::read_dir(home().join(folder)).expect("there") {
            let path = entry.expect("readable").path();
            if path.extension().is_none_or(|e| e != "toml") {
                continue;
            }
            let text = fs::read_to_string(&path).expect("readable");
            let wrong = match folder {
                "jobs" => job::read(&source(&text)).err(),
                _ => machine::read("copy", &source(&text)).err(),
            };
            assert_eq!(wrong, None, "{}", path.display());
            assert!(
                text.lines().filter(|line| line.contains('#')).count() >= 5,
                "{} is commented",
                path.display()
            );
            found += 1;
        }
        assert!(found >= 3, "{folder}");
    }
}
