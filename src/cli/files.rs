//! Files read and written: machine folders, jobs, and the output folder.

use super::{Shared, complain};
use crate::{
    diag::{self, Diagnostic, Given, Source},
    job::{self, Job},
    machine::{self, Machine},
};
use std::{
    collections::BTreeMap,
    fs,
    io::{self, Write},
    path::{Path, PathBuf},
};

/// The largest job or machine file anybody writes by hand, bytes.
const LARGEST: u64 = 1 << 20;

/// The largest drawing that is read whole, bytes.
const LARGEST_DRAWING: u64 = 256 << 20;

/// A job file that could be read.
pub struct JobFile {
    pub source: Source,
    pub job: Job,
}

/// Reads a job file. `Err(None)` means that it was refused and all has been said.
pub fn job(path: &Path) -> Result<JobFile, Option<String>> {
    let source = source(path).map_err(Some)?;
    let read = job::read(&source).and_then(|mut job| {
        match job.panel.drawing() {
            None => {}
            Some((file, bytes)) => *bytes = drawing(path, file).map_err(|wrong| vec![wrong])?,
        }
        Ok(job)
    });
    match read {
        Ok(job) => Ok(JobFile { source, job }),
        Err(wrong) => {
            refuse(&source, &wrong);
            Err(None)
        }
    }
}

/// The bytes of a drawing that a job names, beside the job file.
fn drawing(job: &Path, file: &Given<String>) -> Result<Vec<u8>, Diagnostic> {
    let path = job.parent().unwrap_or(Path::new("")).join(&file.value);
    let at = |message: String| Diagnostic::at(file.span.clone(), message);
    let size = fs::metadata(&path).map(|data| data.len());
    match size {
        Ok(size) if size > LARGEST_DRAWING => Err(at(format!(
            "the drawing is {} MB; an outline takes a few hundred kB at the most",
            size >> 20
        ))
        .help("save the outline's layer as a drawing of its own")),
        _ => fs::read(&path).map_err(|why| {
            at(format!("the drawing cannot be read: {why}"))
                .help("write the file's name as it is, seen from the folder of the job file")
        }),
    }
}

/// Says all that is wrong with a file.
pub fn refuse(source: &Source, wrong: &[Diagnostic]) {
    complain(&diag::render(source, wrong));
}

/// One machine file found.
pub struct MachineFile {
    pub name: String,
    pub path: PathBuf,
    pub source: Source,
    pub machine: Result<Machine, Vec<Diagnostic>>,
}

/// Every machine file in the folders that count, by name; the first folder that has a name wins.
pub fn machines(
    shared: &Shared,
    job: Option<&Path>,
) -> Result<BTreeMap<String, MachineFile>, String> {
    let beside = job.map(|job| job.parent().unwrap_or(Path::new("")).to_path_buf());
    let folders = match &shared.machines {
        Some(folder) if !folder.is_dir() => {
            return Err(format!("{} is not a folder", folder.display()));
        }
        Some(folder) => vec![folder.clone()],
        None => {
            let mut folders = vec![PathBuf::from("machines")];
            folders.extend(beside.iter().flat_map(|b| [b.join("machines"), b.join("../machines")]));
            folders
        }
    };
    let mut found = BTreeMap::new();
    for folder in folders.iter().filter(|folder| folder.is_dir()) {
        let entries = fs::read_dir(folder).map_err(|e| unreadable(folder, &e))?;
        let mut paths: Vec<PathBuf> =
            entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
        paths.sort();
        for path in paths.into_iter().filter(|path| path.extension().is_some_and(|e| e == "toml")) {
            let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
            if found.contains_key(&name) {
                continue;
            }
            let source = source(&path)?;
            let machine = machine::read(&name, &source);
            found.insert(name.clone(), MachineFile { name, path, source, machine });
        }
    }
    Ok(found)
}

/// The machines that could be read; says what is wrong with those of `named` that could not.
pub fn usable(
    found: BTreeMap<String, MachineFile>,
    named: &[&str],
) -> Result<BTreeMap<String, Machine>, ()> {
    let mut usable = BTreeMap::new();
    let mut broken = false;
    for (name, file) in found {
        match file.machine {
            Ok(machine) => {
                usable.insert(name, machine);
            }
            Err(wrong) if named.contains(&name.as_str()) => {
                refuse(&file.source, &wrong);
                broken = true;
            }
            Err(_) => {}
        }
    }
    if broken { Err(()) } else { Ok(usable) }
}

fn source(path: &Path) -> Result<Source, String> {
    let size = fs::metadata(path).map_err(|e| unreadable(path, &e))?.len();
    if size > LARGEST {
        return Err(format!(
            "{} is {size} bytes long, and a file of settings is never over {LARGEST}",
            path.display()
        ));
    }
    let bytes = fs::read(path).map_err(|e| unreadable(path, &e))?;
    let text = String::from_utf8(bytes).map_err(|_| {
        format!("{} is not text (UTF-8), so it is no job or machine file", path.display())
    })?;
    let name = path.to_string_lossy().into_owned();
    Ok(Source { name, text })
}

pub fn unreadable(path: &Path, error: &io::Error) -> String {
    format!("cannot read {}: {error}", path.display())
}

/// Writes one file whole, or not at all.
pub fn write_one(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new("."));
    let Some(name) = path.file_name() else {
        return Err(format!("{} is not the name of a file", path.display()));
    };
    let file = BTreeMap::from([(name.to_string_lossy().into_owned(), bytes.to_vec())]);
    write_all(folder, &file, |_| false)
}

/// Writes all files into `folder` or none: each is written whole beside its place, and only when all
/// are there are they moved in. `stale` names files of an earlier run that must not be left lying.
pub fn write_all(
    folder: &Path,
    files: &BTreeMap<String, Vec<u8>>,
    stale: impl Fn(&str) -> bool,
) -> Result<(), String> {
    let trouble = |e: io::Error| format!("cannot write to {}: {e}", folder.display());
    fs::create_dir_all(folder).map_err(trouble)?;
    let mut ready = Vec::new();
    for (name, bytes) in files {
        let mut file =
            tempfile::Builder::new().prefix(".writing-").tempfile_in(folder).map_err(trouble)?;
        file.write_all(bytes).map_err(trouble)?;
        readable_by_all(&file).map_err(trouble)?;
        ready.push((name, file));
    }
    for (name, file) in ready {
        file.persist(folder.join(name)).map_err(|e| trouble(e.error))?;
    }
    for entry in fs::read_dir(folder).map_err(trouble)?.filter_map(Result::ok) {
        let name = entry.file_name().to_string_lossy().into_owned();
        if stale(&name) && !files.contains_key(&name) {
            fs::remove_file(entry.path()).map_err(trouble)?;
        }
    }
    Ok(())
}

/// Temporary files are private; what they become is an ordinary file.
#[cfg(unix)]
fn readable_by_all(file: &tempfile::NamedTempFile) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.as_file().set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable_by_all(_: &tempfile::NamedTempFile) -> io::Result<()> {
    Ok(())
}
