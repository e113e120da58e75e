//! What keeps other programs and a slow card from delaying the control thread: real-time priority and
//! memory that stays in memory. Each is asked for; a system that refuses is told of in the log, and the
//! steps' lateness (SR-36) shows what it costs.

use std::io;

/// Above ordinary programs, below the kernel's own threads (50, from memory). Engineering judgement.
const PRIORITY: libc::c_int = 10;

/// For the calling thread; the memory is the whole program's.
pub(super) fn ask_for_precedence() {
    if let Err(why) = real_time() {
        tracing::info!(%why, "no real-time priority: the unit file grants it (LimitRTPRIO)");
    }
    match stays_in_memory() {
        Ok(true) => {}
        Ok(false) => tracing::info!("memory is not locked: the unit file allows it (LimitMEMLOCK=infinity)"),
        Err(why) => tracing::info!(%why, "memory cannot be locked"),
    }
}

#[allow(unsafe_code, reason = "the standard library has no scheduling; the call only reads what it is lent")]
fn real_time() -> io::Result<()> {
    // SAFETY: all zeros is a `sched_param` (plain numbers).
    let mut wanted: libc::sched_param = unsafe { std::mem::zeroed() };
    wanted.sched_priority = PRIORITY;
    // What it starts, such as a new warden, begins as an ordinary program.
    let policy = libc::SCHED_FIFO | libc::SCHED_RESET_ON_FORK;
    // SAFETY: 0 is the calling thread; `wanted` is ours, whole, and lives until the call has returned.
    answered(unsafe { libc::sched_setscheduler(0, policy, &raw const wanted) })
}

/// Whether it does. Not tried under a limit: past it the program could get no more memory at all.
#[allow(
    unsafe_code,
    reason = "the standard library cannot lock memory; the calls only fill what they are lent"
)]
fn stays_in_memory() -> io::Result<bool> {
    // SAFETY: all zeros is an `rlimit` (plain numbers).
    let mut limit: libc::rlimit = unsafe { std::mem::zeroed() };
    // SAFETY: `limit` is ours, whole, and lives until the call has returned.
    answered(unsafe { libc::getrlimit(libc::RLIMIT_MEMLOCK, &raw mut limit) })?;
    if limit.rlim_cur != libc::RLIM_INFINITY {
        return Ok(false);
    }
    // As pages are first used: threads' stacks would fill megabytes with nothing otherwise.
    // SAFETY: the call takes plain flags and touches no memory of ours.
    answered(unsafe { libc::mlockall(libc::MCL_CURRENT | libc::MCL_FUTURE | libc::MCL_ONFAULT) })?;
    Ok(true)
}

fn answered(status: libc::c_int) -> io::Result<()> {
    if status == 0 { Ok(()) } else { Err(io::Error::last_os_error()) }
}
