//! `bradawl completions` and `bradawl man`: the command line in the forms that shells and `man` read.

use super::{End, Shared, Typed, print};
use clap::{Args, CommandFactory};
use clap_complete::Shell;
use std::{fs, path::PathBuf};

pub const COMPLETIONS: &str = "\
Examples:
  bradawl completions bash > ~/.local/share/bash-completion/completions/bradawl
  bradawl completions zsh > ~/.zfunc/_bradawl
  bradawl completions fish > ~/.config/fish/completions/bradawl.fish";

pub const MAN: &str = "\
Examples:
  bradawl man ~/.local/share/man/man1
  man bradawl-make";

#[derive(Args)]
pub struct CompletionsArgs {
    /// The shell that is to complete commands and flags
    #[arg(value_enum)]
    shell: Shell,
}

#[derive(Args)]
pub struct ManArgs {
    /// The folder for the pages, one for each command
    folder: PathBuf,
}

pub fn completions(args: &CompletionsArgs) -> End {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut Typed::command(), "bradawl", &mut text);
    print(&String::from_utf8_lossy(&text));
    End::Done
}

pub fn man(args: &ManArgs, shared: &Shared) -> End {
    let folder = args.folder.display();
    let written = fs::create_dir_all(&args.folder)
        .and_then(|()| clap_mangen::generate_to(Typed::command(), &args.folder));
    match written {
        Ok(()) => {
            shared.say(&format!("Written: bradawl.1 and a page for each command, in {folder}\n"));
            End::Done
        }
        Err(e) => End::CouldNotRun(format!("cannot write to {folder}: {e}")),
    }
}
