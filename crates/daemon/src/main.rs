//! The `saggar` program. Everything is in the library, where tests reach it.
//!
//! Called by the warden's name it is the warden: so the two are always of one build, and the one
//! cannot be there without the other.

use std::ffi::OsStr;
use std::path::Path;

fn main() -> std::process::ExitCode {
    let mut arguments = std::env::args_os();
    let name = arguments.next();
    if name.as_deref().map(Path::new).and_then(Path::file_name) == Some(OsStr::new(warden_process::NAME)) {
        return warden_process::run(arguments);
    }
    daemon::cli::run()
}
