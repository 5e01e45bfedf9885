//! The output folder: written whole or not at all, and never over a person's own work.
//!
//! `checksums.sha256` says what was written, in the form that `sha256sum -c` reads. A file that is no longer
//! what stands there was changed by hand, and one that does not stand there was put there by hand.

use super::End;
use crate::words;
use sha2::{Digest, Sha256};
use std::{
    collections::BTreeMap,
    fs,
    io::{self, Write},
    path::Path,
};

pub const CHECKSUMS: &str = "checksums.sha256";

/// Writes all files into `folder` or none: each is written whole beside its place, and only when all
/// are there are they moved in. `stale` names files of an earlier run that must not be left lying.
/// Unless `replace`, nothing is written if that would be over a file changed or put there by hand.
pub fn write_all(
    folder: &Path,
    files: &BTreeMap<String, Vec<u8>>,
    stale: impl Fn(&str) -> bool,
    replace: bool,
) -> Result<(), End> {
    let trouble =
        |e: io::Error| End::CouldNotRun(format!("cannot write to {}: {e}", folder.display()));
    let there = names(folder).map_err(trouble)?;
    let stale: Vec<&String> =
        there.iter().filter(|name| stale(name) && !files.contains_key(*name)).collect();
    let written =
        fs::read_to_string(folder.join(CHECKSUMS)).map(|text| read(&text)).unwrap_or_default();
    if !replace {
        let at_stake =
            there.iter().filter(|name| files.contains_key(*name) || stale.contains(name));
        let mut by_hand = Vec::new();
        for name in at_stake {
            let bytes = fs::read(folder.join(name)).map_err(trouble)?;
            let is_new = files.get(name) == Some(&bytes);
            match written.get(name) {
                Some(sum) if *sum != checksum(&bytes) && !is_new => {
                    by_hand.push(format!("  {name} was changed since it was made\n"));
                }
                None if !is_new => by_hand.push(format!("  {name} was not made by bradawl\n")),
                _ => {}
            }
        }
        if !by_hand.is_empty() {
            return Err(End::Refused(format!(
                "error: nothing was written to {}, because it would be over {}:\n{}\
                 help: move {} elsewhere, or make it again with --replace to write over\n",
                folder.display(),
                words::count(by_hand.len(), "file of your own", "files of your own"),
                by_hand.concat(),
                if by_hand.len() == 1 { "it" } else { "them" },
            )));
        }
    }
    // What stays from an earlier run keeps its checksum; what goes or is written anew does not.
    let mut sums: BTreeMap<String, String> = written
        .into_iter()
        .filter(|(name, _)| there.contains(name) && !stale.contains(&name))
        .collect();
    sums.extend(files.iter().map(|(name, bytes)| (name.clone(), checksum(bytes))));
    let listed: String = sums.iter().map(|(name, sum)| format!("{sum}  {name}\n")).collect();

    fs::create_dir_all(folder).map_err(trouble)?;
    let mut ready = Vec::new();
    for (name, bytes) in files {
        ready.push((name.as_str(), whole(folder, bytes).map_err(trouble)?));
    }
    // Last, so that a run broken off here is taken up by the next one: it finds its own bytes.
    ready.push((CHECKSUMS, whole(folder, listed.as_bytes()).map_err(trouble)?));
    for (name, file) in ready {
        file.persist(folder.join(name)).map_err(|e| trouble(e.error))?;
    }
    for name in stale {
        fs::remove_file(folder.join(name)).map_err(trouble)?;
    }
    Ok(())
}

/// The files in the folder; none if there is no folder yet.
fn names(folder: &Path) -> io::Result<Vec<String>> {
    if !folder.exists() {
        return Ok(Vec::new());
    }
    let mut names: Vec<String> = fs::read_dir(folder)?
        .filter_map(Result::ok)
        .filter(|entry| entry.path().is_file())
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    Ok(names)
}

fn checksum(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The checksums of a listing by name. A line that is none is passed over: what it was for then counts
/// as a person's own.
fn read(text: &str) -> BTreeMap<String, String> {
    let pairs = text.lines().filter_map(|line| line.split_once("  "));
    pairs.map(|(sum, name)| (name.to_string(), sum.to_string())).collect()
}

fn whole(folder: &Path, bytes: &[u8]) -> io::Result<tempfile::NamedTempFile> {
    let mut file = tempfile::Builder::new().prefix(".writing-").tempfile_in(folder)?;
    file.write_all(bytes)?;
    super::files::readable_by_all(&file)?;
    Ok(file)
}
