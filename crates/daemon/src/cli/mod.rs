//! The command line.

mod args;
mod check;
mod cone;
mod emf;
mod fire;
mod history;
mod logbook;
mod replay;

use std::fmt::Display;
use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use args::{Command, Saggar};

use crate::client::Client;
use crate::electronics::NoBoard;
use crate::files::LoadError;
use crate::serve::ServeError;
use crate::web::ListenError;
use crate::{client, logs, serve};

/// What the program's end tells its caller.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done.
    Good,
    /// Refused, failed, tripped, or found different.
    Refused,
    /// What was given could not be understood: arguments, files, lines.
    BadInput,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        match exit {
            Exit::Good => Self::SUCCESS,
            Exit::Refused => Self::from(1),
            Exit::BadInput => Self::from(2),
        }
    }
}

/// Runs the program.
#[must_use]
pub fn run() -> ExitCode {
    // clap itself ends with 2 when it cannot understand the arguments.
    obey(Saggar::parse().command).into()
}

/// Every command with its help, for manual pages and completions.
#[must_use]
pub fn commands() -> clap::Command {
    Saggar::command()
}

fn obey(command: Command) -> Exit {
    match command {
        Command::Serve(args) => serve_daemon(args),
        Command::Status { daemon, json } => Client::new(&daemon).status(client::form(json)),
        Command::AtRest { daemon, kiln } => at_rest(&daemon, kiln.as_deref()),
        Command::LightUp { schedule, delay_minutes, confirm, daemon } => {
            Client::new(&daemon).light_up(&schedule, delay_minutes, &confirm)
        }
        Command::Stay { daemon } => Client::new(&daemon).order("stay"),
        Command::CarryOn { daemon } => Client::new(&daemon).order("carry-on"),
        Command::ShutOff { daemon } => Client::new(&daemon).order("shut-off"),
        Command::ClearTrip { daemon } => Client::new(&daemon).order("clear-trip"),
        Command::Silence { daemon } => Client::new(&daemon).order("silence"),
        Command::NextSegment { daemon } => Client::new(&daemon).order("next-segment"),
        Command::EndClimb { daemon } => Client::new(&daemon).order("end-climb"),
        Command::AddMinutes { minutes, daemon } => Client::new(&daemon).add_minutes(minutes),
        Command::ConeSeen { cone, bend_deg, daemon } => Client::new(&daemon).cone_seen(&cone, bend_deg),
        Command::Check { files, kiln } => check::check(&files, kiln.as_deref()),
        Command::Simulate(args) => fire::simulate(&args),
        Command::Emf(args) => emf::emf(&args),
        Command::Cone(args) => cone::cone(&args),
        Command::Cosim(args) => fire::cosim(&args),
        Command::Replay { path, rerecord } => replay::replay(&path, rerecord),
        Command::Import { log, out, kiln, schedule } => {
            replay::import(&log, &out, kiln.as_deref(), schedule.as_deref())
        }
        Command::Logbook { firing, data } => logbook::show(firing, data),
    }
}

fn at_rest(daemon: &str, kiln: Option<&Path>) -> Exit {
    let Some(path) = kiln else { return Client::new(daemon).at_rest() };
    match crate::files::kiln::load(path) {
        Ok(kiln) => Client::new(&kiln.value.page.to_string()).at_rest(),
        Err(why) => bad_file(&why),
    }
}

fn serve_daemon(args: args::ServeArgs) -> Exit {
    logs::start();
    let wanted = serve::Wanted {
        kiln: args.kiln,
        data: args.data.unwrap_or_else(crate::store::usual_folder),
        listen: args.listen,
        speed: args.speed,
        alight: args.alight,
    };
    match serve::serve(&wanted) {
        Ok(()) => Exit::Good,
        Err(ServeError::Kiln(why)) => bad_file(&why),
        Err(why @ (ServeError::Speed(_) | ServeError::Board(NoBoard::Limit(_)))) => bad_input(&why),
        Err(ServeError::Listen(ListenError::System { address, why }))
            if why.kind() == std::io::ErrorKind::AddrInUse =>
        {
            refused(&format_args!(
                "something listens on {address} already, perhaps another saggar (`saggar status` tells): \
                 end it, or choose another port, such as --listen 127.0.0.1:8472"
            ))
        }
        Err(why) => refused(&why),
    }
}

/// Says why not.
pub(crate) fn refused(why: &dyn Display) -> Exit {
    remark(&format_args!("saggar: {why}"));
    Exit::Refused
}

/// Says what could not be understood.
pub(crate) fn bad_input(why: &dyn Display) -> Exit {
    remark(&format_args!("saggar: {why}"));
    Exit::BadInput
}

/// Says why a file cannot be used. Its errors begin each with their place, as editors read them.
pub(crate) fn bad_file(why: &LoadError) -> Exit {
    match why {
        LoadError::Refused(refused) => remark(refused),
        LoadError::Unreadable { .. } => return bad_input(why),
    }
    Exit::BadInput
}

/// Answers on standard output. Every command answers through this: `println!` would panic when the
/// reader has gone.
pub(crate) fn tell(answer: &dyn Display) -> Exit {
    let mut out = std::io::stdout().lock();
    match writeln!(out, "{answer}").and_then(|()| out.flush()) {
        Ok(()) => Exit::Good,
        Err(why) => ended_writing(&why),
    }
}

/// Says something beside the answer, on standard error. Where nobody reads that, nobody is told.
pub(crate) fn remark(words: &dyn Display) {
    let _unread = writeln!(std::io::stderr().lock(), "{words}");
}

/// The answers could not be written. A reader that has seen enough, such as `head`, is no failure.
pub(crate) fn ended_writing(why: &std::io::Error) -> Exit {
    if why.kind() == std::io::ErrorKind::BrokenPipe { Exit::Good } else { refused(why) }
}
