//! The `saggar` program. Everything is in the library, where tests reach it.

fn main() -> std::process::ExitCode {
    daemon::cli::run()
}
