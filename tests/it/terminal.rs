//! A terminal for tests: the built program at one end, the test at the other.

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use std::{
    fs::File,
    io::{Read, Write},
    path::Path,
    process::{Child, Command, Stdio},
};

/// A person at a terminal: the program's end of a pseudo-terminal, and ours.
pub struct Terminal {
    ours: File,
    pub program: Child,
    pub shown: String,
}

impl Terminal {
    pub fn run(folder: &Path, args: &[&str]) -> Terminal {
        Terminal::run_with(folder, args, &[])
    }

    pub fn run_with(folder: &Path, args: &[&str], env: &[(&str, &str)]) -> Terminal {
        let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).expect("a terminal");
        grantpt(&ours).expect("granted");
        unlockpt(&ours).expect("unlocked");
        let name = ptsname(&ours, Vec::new()).expect("a name");
        let open = || {
            File::options()
                .read(true)
                .write(true)
                .open(name.to_str().expect("a path"))
                .expect("opened")
        };
        let program = Command::new(assert_cmd::cargo::cargo_bin("bradawl"))
            .current_dir(folder)
            .args(args)
            .env("TERM", "xterm")
            .env_remove("NO_COLOR")
            .env_remove("CI") // a build service's logs take colour, whatever the terminal
            .envs(env.iter().copied())
            .stdin(Stdio::from(open()))
            .stdout(Stdio::from(open()))
            .stderr(Stdio::from(open()))
            .spawn()
            .expect("started");
        Terminal { ours: File::from(ours), program, shown: String::new() }
    }

    /// Reads until the program asks again, or has ended.
    pub fn until(&mut self, awaited: &str) {
        let mut bytes = [0; 4096];
        let from = self.shown.len();
        while !self.shown[from..].contains(awaited) {
            // A terminal whose other end is closed gives an error.
            match self.ours.read(&mut bytes) {
                Ok(n) if n > 0 => self.shown.push_str(&String::from_utf8_lossy(&bytes[..n])),
                _ => panic!("the program ended before `{awaited}`:\n{}", self.shown),
            }
        }
    }

    pub fn line(&mut self, line: &str) {
        writeln!(self.ours, "{line}").expect("typed");
    }

    /// What was shown, and the exit code.
    pub fn end(mut self) -> (String, Option<i32>) {
        let mut bytes = [0; 4096];
        while let Ok(n) = self.ours.read(&mut bytes) {
            self.shown.push_str(&String::from_utf8_lossy(&bytes[..n]));
            if n == 0 {
                break;
            }
        }
        let code = self.program.wait().expect("it ended").code();
        (self.shown, code)
    }
}
