//! One thread of a running program held, as by a debugger.

use std::fs;

use nix::sys::ptrace;
use nix::unistd::Pid;

/// A thread that stands still until this value is dropped, by the thread that made it.
pub(crate) struct Held(Pid);

impl Held {
    /// The thread of that name in a process.
    pub(crate) fn thread(process: u32, name: &str) -> Self {
        let tasks = fs::read_dir(format!("/proc/{process}/task")).expect("its threads");
        let thread = tasks
            .filter_map(Result::ok)
            .find(|task| fs::read_to_string(task.path().join("comm")).is_ok_and(|comm| comm.trim() == name))
            .and_then(|task| task.file_name().to_str()?.parse().ok())
            .map(Pid::from_raw)
            .expect("the thread");
        ptrace::seize(thread, ptrace::Options::empty()).expect("seized");
        ptrace::interrupt(thread).expect("interrupted");
        Self(thread)
    }
}

impl Drop for Held {
    fn drop(&mut self) {
        let _let_go = ptrace::detach(self.0, None);
    }
}
