//! `make --watch`: again whenever a job, a drawing that it names, a machine file or the price list is saved.
//!
//! The few files concerned are read three times a second. That works on every file system, for editors that
//! write in place as for those that exchange the file, and it notices what was saved rather than that
//! something was.

use super::{End, Shared, files, make, make::MakeArgs};
use std::{fs, path::PathBuf, thread, time::Duration};

const PAUSE: Duration = Duration::from_millis(300);

/// Every file that the jobs depend on, with what is in it.
type Seen = Vec<(PathBuf, Option<Vec<u8>>)>;

/// Makes the jobs again and again, until the person stops the program.
pub fn run(args: &MakeArgs, shared: &Shared) -> End {
    let mut made = look(args, shared);
    loop {
        make::once(args, shared).say();
        shared.say(&format!(
            "\nWatching the job and machine files, and drawings they name; Ctrl-C ends it.\n{}",
            pages(args)
        ));
        made = changed(args, shared, made);
        shared.say("\nSaved: making it again.\n\n");
    }
}

/// Where a browser sees each change. A page opened from a folder looks at itself only when it is asked to.
fn pages(args: &MakeArgs) -> String {
    let address = |folder: PathBuf| {
        let page = fs::canonicalize(folder.join("preview.html")).ok()?;
        let plain = |c: char| c.is_ascii_alphanumeric() || "/-._~:".contains(c);
        let mut address = String::from("file://");
        for c in page.to_string_lossy().replace('\\', "/").chars() {
            if plain(c) {
                address.push(c);
            } else {
                let mut bytes = [0; 4];
                address
                    .extend(c.encode_utf8(&mut bytes).bytes().map(|byte| format!("%{byte:02X}")));
            }
        }
        Some(format!("  {address}?watch\n"))
    };
    let pages: String = make::folders(args).into_iter().filter_map(address).collect();
    if pages.is_empty() { pages } else { format!("A browser shows each change at\n{pages}") }
}

/// Waits for something else, and for it to stay as it is for one pause: an editor may be writing still.
fn changed(args: &MakeArgs, shared: &Shared, before: Seen) -> Seen {
    let mut last = before.clone();
    loop {
        thread::sleep(PAUSE);
        let now = look(args, shared);
        if now == last && now != before {
            return now;
        }
        last = now;
    }
}

fn look(args: &MakeArgs, shared: &Shared) -> Seen {
    let mut paths = args.jobs.clone();
    paths.extend(args.prices.clone());
    for job in &args.jobs {
        paths.extend(files::drawing_paths(job));
        paths.extend(files::machine_paths(shared, Some(job)).unwrap_or_default());
    }
    paths.sort();
    paths.dedup();
    paths.into_iter().map(|path| (path.clone(), fs::read(path).ok())).collect()
}
