//! Writes the manual pages and the shells' completions of the `saggar` program, for its package:
//! `cargo run -p daemon --example command_pages -- FOLDER`.

use std::path::Path;
use std::{env, fs, io};

use clap_complete::Shell;

fn main() -> io::Result<()> {
    let folder = env::args_os().nth(1).ok_or_else(|| io::Error::other("usage: command_pages FOLDER"))?;
    let (man, completions) = (Path::new(&folder).join("man"), Path::new(&folder).join("completions"));
    fs::create_dir_all(&man)?;
    fs::create_dir_all(&completions)?;
    clap_mangen::generate_to(daemon::cli::commands(), man)?;
    for shell in [Shell::Bash, Shell::Fish, Shell::Zsh] {
        clap_complete::generate_to(shell, &mut daemon::cli::commands(), "saggar", &completions)?;
    }
    Ok(())
}
