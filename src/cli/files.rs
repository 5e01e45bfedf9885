//! Files read and written: machine folders, jobs, and the output folder.

use super::{End, Shared};
use crate::{
    diag::{self, Diagnostic, Given, Source},
    job::{self, Job, Prices},
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

/// Reads a job file.
pub fn job(path: &Path) -> Result<JobFile, End> {
    let source = source(path).map_err(End::CouldNotRun)?;
    let read = job::read(&source).and_then(|mut job| {
        let read = |(file, bytes): (&Given<String>, &mut Vec<u8>)| match drawing(path, file) {
            Ok(read) => {
                *bytes = read;
                None
            }
            Err(wrong) => Some(wrong),
        };
        let wrong: Vec<Diagnostic> = job.drawings().into_iter().filter_map(read).collect();
        if wrong.is_empty() { Ok(job) } else { Err(wrong) }
    });
    match read {
        Ok(job) => Ok(JobFile { source, job }),
        Err(wrong) => Err(End::Refused(refusal(&source, &wrong))),
    }
}

/// The drawings that a job names, as far as it can be read.
pub fn drawing_paths(path: &Path) -> Vec<PathBuf> {
    let read = source(path).ok().and_then(|source| job::read(&source).ok());
    let mut named = Vec::new();
    if let Some(mut job) = read {
        named.extend(job.drawings().into_iter().map(|(file, _)| beside_job(path, file)));
    }
    named
}

fn beside_job(job: &Path, file: &Given<String>) -> PathBuf {
    job.parent().unwrap_or(Path::new("")).join(&file.value)
}

/// Reads a price list.
pub fn prices(path: &Path) -> Result<Prices, End> {
    let source = source(path).map_err(End::CouldNotRun)?;
    job::prices::read(&source).map_err(|wrong| End::Refused(refusal(&source, &wrong)))
}

/// The bytes of a drawing that a job names, beside the job file.
fn drawing(job: &Path, file: &Given<String>) -> Result<Vec<u8>, Diagnostic> {
    let path = beside_job(job, file);
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

/// All that is wrong with a file, in words.
pub fn refusal(source: &Source, wrong: &[Diagnostic]) -> String {
    diag::render(source, wrong)
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
    let mut found = BTreeMap::new();
    for path in machine_paths(shared, job)? {
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        if found.contains_key(&name) {
            continue;
        }
        let source = source(&path)?;
        let machine = machine::read(&name, &source);
        found.insert(name.clone(), MachineFile { name, path, source, machine });
    }
    Ok(found)
}

/// The machine files in the folders that count, folder by folder.
pub fn machine_paths(shared: &Shared, job: Option<&Path>) -> Result<Vec<PathBuf>, String> {
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
    let mut found = Vec::new();
    for folder in folders.iter().filter(|folder| folder.is_dir()) {
        let entries = fs::read_dir(folder).map_err(|e| unreadable(folder, &e))?;
        let mut paths: Vec<PathBuf> =
            entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
        paths.sort();
        found
            .extend(paths.into_iter().filter(|path| path.extension().is_some_and(|e| e == "toml")));
    }
    Ok(found)
}

/// The machines that could be read; else what is wrong with those of `named` that could not.
pub fn usable(
    found: BTreeMap<String, MachineFile>,
    named: &[&str],
) -> Result<BTreeMap<String, Machine>, String> {
    let mut usable = BTreeMap::new();
    let mut broken = Vec::new();
    for (name, file) in found {
        match file.machine {
            Ok(machine) => {
                usable.insert(name, machine);
            }
            Err(wrong) if named.contains(&name.as_str()) => {
                broken.push(refusal(&file.source, &wrong));
            }
            Err(_) => {}
        }
    }
    if broken.is_empty() { Ok(usable) } else { Err(broken.join("\n")) }
}

/// Reads a file of settings.
pub fn source(path: &Path) -> Result<Source, String> {
    let size = fs::metadata(path).map_err(|e| unreadable(path, &e))?.len();
    if size > LARGEST {
        return Err(format!(
            "{} is {size} bytes long, and a file of settings is never over {LARGEST}",
            path.display()
        ));
    }
    let bytes = fs::read(path).map_err(|e| unreadable(path, &e))?;
    let text = String::from_utf8(bytes).map_err(|_| {
        format!("{} is not text (UTF-8), so it is no job, machine or price file", path.display())
    })?;
    let name = path.to_string_lossy().into_owned();
    Ok(Source { name, text })
}

pub fn unreadable(path: &Path, error: &io::Error) -> String {
    format!("cannot read {}: {error}", path.display())
}

/// Writes one file whole, or not at all.
pub fn write_one(path: &Path, bytes: &[u8]) -> Result<(), String> {
    let trouble = |e: io::Error| format!("cannot write {}: {e}", path.display());
    let mut file = beside(path).map_err(trouble)?;
    file.write_all(bytes).map_err(trouble)?;
    file.persist(path).map_err(|e| trouble(e.error))?;
    Ok(())
}

/// A temporary file beside `path`, to become it once it is whole.
pub fn beside(path: &Path) -> io::Result<tempfile::NamedTempFile> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let file = tempfile::Builder::new()
        .prefix(".writing-")
        .tempfile_in(folder.unwrap_or_else(|| Path::new(".")))?;
    readable_by_all(&file)?;
    Ok(file)
}

/// Temporary files are private; what they become is an ordinary file.
#[cfg(unix)]
pub fn readable_by_all(file: &tempfile::NamedTempFile) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.as_file().set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
pub fn readable_by_all(_: &tempfile::NamedTempFile) -> io::Result<()> {
    Ok(())
}
