//! The `saggar-warden` program: the warden and nothing else, for the service's stop hook and for
//! whoever wants it without the rest.

fn main() -> std::process::ExitCode {
    warden_process::run(std::env::args_os().skip(1))
}
