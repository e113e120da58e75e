//! Holds one thread of a process, as a debugger does, and lets the others run: `hold-thread PROCESS NAME`.
//!
//! It says `held` when it does and goes on holding until it is ended.

use std::process::ExitCode;
use std::{env, fs, thread};

use nix::sys::ptrace;
use nix::unistd::Pid;

fn thread_named(process: &str, name: &str) -> Option<Pid> {
    let tasks = fs::read_dir(format!("/proc/{process}/task")).ok()?;
    tasks
        .filter_map(Result::ok)
        .find(|task| fs::read_to_string(task.path().join("comm")).is_ok_and(|comm| comm.trim() == name))
        .and_then(|task| task.file_name().to_str()?.parse().ok())
        .map(Pid::from_raw)
}

fn main() -> ExitCode {
    let words: Vec<String> = env::args().skip(1).collect();
    let [process, name] = words.as_slice() else {
        eprintln!("usage: hold-thread PROCESS NAME");
        return ExitCode::from(2);
    };
    let Some(found) = thread_named(process, name) else {
        eprintln!("hold-thread: process {process} has no thread {name}");
        return ExitCode::FAILURE;
    };
    let held = ptrace::seize(found, ptrace::Options::empty()).and_then(|()| ptrace::interrupt(found));
    if let Err(why) = held {
        eprintln!("hold-thread: {why}");
        return ExitCode::FAILURE;
    }
    println!("held");
    loop {
        thread::park();
    }
}
