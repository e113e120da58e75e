//! The commands and what they take. The words here are the program's help.

use std::net::SocketAddr;
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

/// Fires an electric pottery kiln.
///
/// Begin with `saggar serve`: without a kiln file it runs a simulated kiln, so nothing gets hot.
/// Open the page it names in a browser, choose a schedule and light up.
///
/// A controller is never the only protection: an independent high-limit with its own sensor and
/// contactor, a breaker, an isolator within reach and wiring by licensed practice to local code
/// are yours to provide.
#[derive(Debug, Parser)]
#[command(name = "saggar", version, after_help = EXITS, subcommand_required = true, arg_required_else_help = true)]
pub(super) struct Saggar {
    #[command(subcommand)]
    pub(super) command: Command,
}

const EXITS: &str = "Ends with 0 when done; 1 when refused, failed, tripped or found different; \
2 when arguments, files or lines cannot be understood.";

/// Where the daemon is, for the commands that talk to it.
const DAEMON: &str = "127.0.0.1:8471";

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Run the daemon: control the kiln, keep the record, serve the page.
    Serve(ServeArgs),
    /// Say what the kiln is doing.
    Status {
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
        /// Everything, as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Say whether the kiln is at rest, so that nothing is lost when saggar is stopped or restarted.
    ///
    /// Ends with 0 when it is. Packages and scripts ask this before they do either; no answer is no
    /// leave.
    AtRest {
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
        /// The daemon whose page this kiln file places, instead.
        #[arg(long, value_name = "FILE", conflicts_with = "daemon")]
        kiln: Option<PathBuf>,
    },
    /// Light a firing.
    ///
    /// You confirm what the controller cannot sense, each with its own --confirm; without them the
    /// command lists what is asked.
    LightUp {
        /// A schedule's file name on the daemon's shelf, such as mid-fire-glaze.toml.
        schedule: String,
        /// Begin heating this many minutes from now.
        #[arg(long, value_name = "MINUTES", default_value_t = 0)]
        delay_minutes: u16,
        /// What you have seen to, by its name in the checklist. May be given several times.
        #[arg(long, value_name = "CHECK")]
        confirm: Vec<String>,
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// Keep the present setpoint until told to carry on.
    Stay {
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// Go on after a stay; or undo your own shut-off, within ten minutes.
    CarryOn {
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// End the heating now.
    ShutOff {
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// Clear a trip, once its cause is gone.
    ClearTrip {
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// Silence the buzzer. The trip stands until it is cleared.
    Silence {
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// Skip what is left of this segment.
    NextSegment {
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// Stop climbing here and begin the segment's soak.
    EndClimb {
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// Lengthen the present soak or stay.
    AddMinutes {
        /// By how much.
        minutes: u16,
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// Note what you see through the spyhole.
    ConeSeen {
        /// Which cone, such as 6 or 06.
        cone: String,
        /// How far it is bent: 0 as set, 90 when its tip is level with its base.
        #[arg(value_name = "DEGREES", value_parser = clap::value_parser!(u8).range(0..=180))]
        bend_deg: u8,
        #[arg(long, value_name = "ADDRESS", default_value = DAEMON, help = HELP_DAEMON)]
        daemon: String,
    },
    /// Check schedule and kiln files: every error with its line, and what would be right.
    Check {
        /// Schedules or kiln files; which one it is shows in its content.
        #[arg(required = true, value_name = "FILE")]
        files: Vec<PathBuf>,
        /// Check schedules against this kiln, too.
        #[arg(long, value_name = "FILE")]
        kiln: Option<PathBuf>,
    },
    /// Fire a schedule on a simulated kiln, as fast as it goes.
    Simulate(SimulateArgs),
    /// Turn junction temperatures into thermocouple emf, or back. One line per value, the answer last.
    ///
    /// By the reference functions of NIST SRD 60 (IEC 60584-1), reference junction at 0 °C.
    Emf(EmfArgs),
    /// Say what cone a temperature history reached, or where a cone ends on a ramp.
    Cone(ConeArgs),
    /// Replay a trace, or every trace in a folder, through the controller and compare.
    ///
    /// Beside a trace may lie an expectation file, which is judged too. With --rerecord the
    /// decisions are recorded anew, after the controller was changed on purpose.
    Replay {
        /// A trace, or a folder of them.
        #[arg(value_name = "FILE-or-FOLDER")]
        path: PathBuf,
        /// Put this program's decisions in place of the recorded ones.
        #[arg(long)]
        rerecord: bool,
    },
    /// Run the controller in lock-step with a kiln model outside, over standard input and output.
    ///
    /// One JSON object a line, one answer a line. The firing is lit at the first line.
    Cosim(CosimArgs),
    /// Show the logbook: every firing, or one with what happened in it.
    Logbook {
        /// The number of a firing.
        firing: Option<i64>,
        /// The data folder, if not the usual one.
        #[arg(long, value_name = "FOLDER")]
        data: Option<PathBuf>,
    },
    /// Import a log of time and temperature (CSV with the columns `time_s` and `temp_c`) as a trace.
    Import {
        /// The log.
        log: PathBuf,
        /// Where the trace goes, such as firing.jsonl.
        #[arg(long, value_name = "FILE")]
        out: PathBuf,
        /// The kiln it was fired in; the simulated one if none.
        #[arg(long, value_name = "FILE")]
        kiln: Option<PathBuf>,
        /// The schedule it was fired with; none if it isn't known.
        #[arg(long, value_name = "FILE")]
        schedule: Option<PathBuf>,
    },
}

const HELP_DAEMON: &str = "Where the daemon is";

#[derive(Debug, Args)]
pub(super) struct ServeArgs {
    /// The kiln file; without one a simulated kiln.
    #[arg(long, value_name = "FILE")]
    pub(super) kiln: Option<PathBuf>,
    /// The data folder: logbook, traces, schedules. Without it saggar/ in the user's state folder.
    #[arg(long, value_name = "FOLDER")]
    pub(super) data: Option<PathBuf>,
    /// Where to serve the page, if not where the kiln file says, such as 127.0.0.1:8472. Only this
    /// computer itself, for now.
    #[arg(long, value_name = "ADDRESS", value_parser = address)]
    pub(super) listen: Option<SocketAddr>,
    /// How many times faster than real time a simulated kiln runs.
    #[arg(long, value_name = "TIMES")]
    pub(super) speed: Option<f64>,
    /// Light this schedule at once: a file, or a name on the shelf. On a simulated kiln only, whose
    /// checklist it confirms: a real one asks a person.
    #[arg(long, value_name = "SCHEDULE")]
    pub(super) alight: Option<PathBuf>,
}

/// An address with its port, as browsers show it too.
fn address(text: &str) -> Result<SocketAddr, String> {
    let text = text.strip_prefix("http://").unwrap_or(text).trim_end_matches('/');
    let text = text.replacen("localhost:", "127.0.0.1:", 1);
    text.parse().map_err(|_| "write address and port, such as 127.0.0.1:8472".to_owned())
}

#[derive(Debug, Args)]
pub(super) struct SimulateArgs {
    /// The schedule.
    pub(super) schedule: PathBuf,
    /// The kiln; the usual simulated one if none.
    #[arg(long, value_name = "FILE")]
    pub(super) kiln: Option<PathBuf>,
    /// Keep the trace here.
    #[arg(long, value_name = "FILE")]
    pub(super) trace: Option<PathBuf>,
    /// Where chance begins: the same number gives the same firing.
    #[arg(long)]
    pub(super) seed: Option<u64>,
    /// The result as JSON.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct EmfArgs {
    /// The thermocouple's letter: B, E, J, K, N, R, S or T.
    #[arg(value_name = "TYPE")]
    pub(super) thermocouple: String,
    /// Temperatures in °C; with --inverse emfs in mV. None: read from standard input, one a line.
    #[arg(value_name = "VALUE", allow_negative_numbers = true)]
    pub(super) values: Vec<String>,
    /// From emf in mV to temperature.
    #[arg(long)]
    pub(super) inverse: bool,
    /// Temperatures in °F.
    #[arg(long)]
    pub(super) fahrenheit: bool,
    /// Each answer as a line of JSON.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct ConeArgs {
    /// A log (CSV with the columns `time_s` and `temp_c`, straight between its rows; - for standard
    /// input); with --at a cone, such as 6, 06 or 5.5.
    #[arg(value_name = "FILE-or-CONE")]
    pub(super) of: String,
    /// Where that cone is down on a ramp of so many degrees an hour, °C unless --fahrenheit.
    #[arg(long, value_name = "RATE", allow_negative_numbers = true)]
    pub(super) at: Option<f64>,
    /// With --at: a soak at the peak, such as "15 min". The answer is the peak that brings the cone
    /// down with it.
    #[arg(long, value_name = "TIME", requires = "at")]
    pub(super) soak: Option<String>,
    /// With --at: slow cooling from the peak at so many degrees an hour, counted in likewise.
    #[arg(long, value_name = "RATE", requires = "at")]
    pub(super) cooling: Option<f64>,
    /// The cone aimed at, around which the witness set stands. Without it the nearest one.
    #[arg(long, value_name = "CONE", conflicts_with = "at")]
    pub(super) aim: Option<String>,
    /// Rates given and temperatures answered in °F; a log and --json stay in °C.
    #[arg(long)]
    pub(super) fahrenheit: bool,
    /// The answer as JSON.
    #[arg(long)]
    pub(super) json: bool,
}

#[derive(Debug, Args)]
pub(super) struct CosimArgs {
    /// The kiln.
    #[arg(long, value_name = "FILE")]
    pub(super) kiln: PathBuf,
    /// The schedule.
    #[arg(long, value_name = "FILE")]
    pub(super) schedule: PathBuf,
    /// Keep the trace here.
    #[arg(long, value_name = "FILE")]
    pub(super) trace: Option<PathBuf>,
    /// The trace of an earlier firing, to learn from first.
    #[arg(long, value_name = "TRACE")]
    pub(super) after: Option<PathBuf>,
}
