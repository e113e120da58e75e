//! The daemon: puts its parts together, and takes them apart in order.

use std::convert::Infallible;
use std::io::Write as _;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::mpsc::sync_channel;
use std::sync::{Arc, Mutex};

use hal::Sensed;
use kiln_sim::SimulatedButton;
use pyrometry::units::Millis;
use tokio::signal::unix::{Signal, SignalKind, signal};

use crate::clock::{KilnClock, SystemClock};
use crate::electronics::{self, Electronics, NoBoard};
use crate::files::kiln::{KilnFile, Outage, Presence};
use crate::learning::Lessons;
use crate::lighting::{self, By};
use crate::run::{
    ControlThread, Cycle, KeptPins, PRESS_COUNTS, Pace, Parts, SharedBoard, ShutOff, WardenError,
    WardenProcess, switch_off_on_panic,
};
use crate::schedules::Shelf;
use crate::service::{News, ServiceManager, Watchdog};
use crate::store::{self, DataFolder, Health, Interrupted, Keeper, Latch, Latched, Logbook, Starts};
use crate::web::{self, House, PastCurves};
use crate::{carrying, kilns};

/// Asks that may wait for the next step: more people than that never press at once.
const ASKS: usize = 16;
/// Few browsers, small answers: two workers keep one slow answer from holding up the others.
const WORKERS: usize = 2;
/// Between two looks at what to tell the service manager. Nobody reads its status every second.
const STATUS_EVERY: std::time::Duration = std::time::Duration::from_secs(5);
/// The fastest a simulated kiln runs under the daemon: beyond it the keeper could not keep up.
pub const SPEED_MOST: f64 = 3600.0;
/// The slowest: the warden lives in real time, and steps that come more slowly than a real kiln's
/// would be silence to it.
pub const SPEED_LEAST: f64 = 1.0;

/// What the daemon is asked to do.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// The kiln file; the simulated kiln where none is named.
    pub kiln: Option<PathBuf>,
    /// The data folder.
    pub data: PathBuf,
    /// Where the page is served; as the kiln file says where nobody says otherwise.
    pub listen: Option<SocketAddr>,
    /// How many times faster than real time a simulated kiln runs.
    pub speed: Option<f64>,
    /// A schedule to light at once, on a simulated kiln.
    pub alight: Option<PathBuf>,
}

/// Why the daemon did not start, or ended.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The kiln file.
    #[error(transparent)]
    Kiln(#[from] crate::files::LoadError),
    /// Something that only a simulated kiln takes.
    #[error(
        "{0} is for a simulated kiln alone, and \"{1}\" is a real one: leave it out, and light from the page"
    )]
    OnlySimulated(&'static str, String),
    /// A speed.
    #[error("a speed of {0} is out of bounds: from {SPEED_LEAST} to {SPEED_MOST}")]
    Speed(f64),
    /// The board.
    #[error(transparent)]
    Board(#[from] NoBoard),
    /// The data folder.
    #[error(transparent)]
    Store(#[from] store::StoreError),
    /// The page's address.
    #[error(transparent)]
    Listen(#[from] web::ListenError),
    /// The firing to begin with.
    #[error("not lit: {0}")]
    NotLit(#[from] lighting::NotLit),
    /// The warden.
    #[error(transparent)]
    Warden(#[from] WardenError),
    /// Threads, signals, sockets.
    #[error(transparent)]
    System(#[from] std::io::Error),
    /// The control thread ended by itself.
    #[error("the control thread has ended: all heat is off")]
    ControlDied,
}

/// Everything that runs.
struct Running {
    house: Arc<House>,
    control: ControlThread,
    keeper: std::thread::JoinHandle<()>,
    /// The firing that the power ended.
    interrupted: Option<Interrupted>,
    starts: Starts,
    folder: DataFolder,
}

/// Runs until a signal to end.
pub fn serve(wanted: &Wanted) -> Result<(), ServeError> {
    let kiln = kilns::load(wanted.kiln.as_deref())?;
    let pace = pace(&kiln, wanted)?;
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(WORKERS).enable_all().build()?;
    let address = wanted.listen.unwrap_or(kiln.page);
    let listener = runtime.block_on(web::listen(address))?;
    let manager = ServiceManager::found();
    let running = start(kiln, &wanted.data, pace, manager.watchdog())?;
    let Running { house, control, keeper, interrupted, starts, folder } = running;
    runtime.spawn(carrying::after_start(Arc::clone(&house), interrupted, starts));
    let ended = runtime.block_on(attend(&house, &control, listener, wanted.alight.as_deref(), &manager));
    manager.tell(News::Ending);
    // Heat first, then the record, then the rest.
    control.end();
    let logbook = house.logbook.clone();
    drop(house);
    runtime.shutdown_background();
    if keeper.join().is_err() {
        tracing::error!("the keeper had panicked");
    }
    // Whoever ends the program ends what was still being looked at.
    if let Err(why) = store::close_interrupted(folder.path(), &logbook, |_| true) {
        tracing::error!(%why, "a firing stays open in the logbook");
    }
    tracing::info!("everything is off; good night");
    ended
}

/// A real kiln's pace, or the speed of a simulated one. What would make a real one heat unattended, or
/// pretend that its time runs faster, is refused.
fn pace(kiln: &KilnFile, wanted: &Wanted) -> Result<Pace, ServeError> {
    let Some(usual) = kilns::speed(kiln) else {
        let only_simulated =
            [("--speed", wanted.speed.is_some()), ("--alight", wanted.alight.is_some())].into_iter();
        return match only_simulated.into_iter().find(|(_, given)| *given) {
            Some((what, _)) => Err(ServeError::OnlySimulated(what, kiln.name.clone())),
            None => Ok(Pace::Real),
        };
    };
    let speed = wanted.speed.unwrap_or(usual);
    if !(SPEED_LEAST..=SPEED_MOST).contains(&speed) {
        return Err(ServeError::Speed(speed));
    }
    Ok(Pace::Simulated { speed })
}

fn start(kiln: KilnFile, data: &Path, pace: Pace, watchdog: Watchdog) -> Result<Running, ServeError> {
    let folder = DataFolder::open(data)?;
    let clock = match pace {
        Pace::Real => KilnClock::real(Arc::new(SystemClock)),
        Pace::Simulated { .. } => KilnClock::simulated(),
    };
    let Opened { logbook, latch, latched, interrupted, starts } = open_store(&folder, &kiln, &clock)?;
    let health = Health::default();
    let keeper = Keeper::start(
        logbook.clone(),
        latch,
        DataFolder::traces(folder.path()),
        health.clone(),
        clock.clone(),
        Lessons::in_folder(folder.path()),
    )?;
    let Guarded { warden, board, kept, button } = take_board(&kiln, &folder, pace)?;
    let (asks, asked) = sync_channel(ASKS);
    let shut_off = ShutOff::default();
    let (cycle, snapshots) = Cycle::new(Parts {
        kiln: kiln.kiln.clone(),
        board,
        guard: warden,
        kept,
        latched,
        asks: asked,
        shut_off: shut_off.clone(),
        records: keeper.records,
        health,
        clock: clock.clone(),
        press_counts: press_counts(&kiln, pace),
        signals: kiln.signals,
    });
    let control = ControlThread::start(cycle, pace, watchdog)?;
    let house = House {
        known_after: match pace {
            Pace::Real => 0,
            Pace::Simulated { .. } => logbook.latest()?,
        },
        simulated: match pace {
            Pace::Real => None,
            Pace::Simulated { speed } => Some(speed),
        },
        outliving: electronics::told_outliving(&kiln),
        kiln,
        clock,
        snapshots,
        asks,
        shut_off,
        button,
        logbook,
        folder: folder.path().to_owned(),
        interrupted: Mutex::new(interrupted.clone()),
        shelf: Shelf::open(folder.schedules())?,
        curve: keeper.curve,
        past_curves: PastCurves::default(),
        lessons: keeper.lessons,
    };
    Ok(Running { house: Arc::new(house), control, keeper: keeper.thread, interrupted, starts, folder })
}

/// A board with its warden.
struct Guarded {
    warden: WardenProcess,
    board: SharedBoard,
    kept: KeptPins,
    button: Option<SimulatedButton>,
}

fn take_board(kiln: &KilnFile, folder: &DataFolder, pace: Pace) -> Result<Guarded, ServeError> {
    kiln.limit().map_err(NoBoard::from)?;
    electronics::lay_out_pins(kiln, &folder.pins())?;
    // The warden before anything that could heat.
    let warden = WardenProcess::start(&warden_program()?, &folder.pins(), kiln.limit_file.as_deref())?;
    tracing::info!(process = warden.process(), "the warden stands guard");
    let hurries = kiln.senses(Sensed::Contactor) && pace.times_real() > SPEED_LEAST;
    let warden = if hurries { warden.waited_for() } else { warden };
    let Electronics { board, kept, button } = electronics::open(kiln, &folder.pins(), &warden)?;
    if !kept.names().is_empty() {
        let names = kept.names().join(", ");
        tracing::warn!("these pins were still energised, and are driven off now: {names}");
    }
    let board = SharedBoard::new(board);
    switch_off_on_panic(&board);
    Ok(Guarded { warden, board, kept, button })
}

/// How long a press of the button counts in kiln time: a person walks in real time.
fn press_counts(kiln: &KilnFile, pace: Pace) -> Option<Millis> {
    match kiln.presence {
        Presence::Button => Millis::from_seconds_f64(PRESS_COUNTS.seconds() * pace.times_real()),
        Presence::Checklist | Presence::NotAsked => None,
    }
}

/// Names the warden's program where this one cannot start itself, as under an emulator.
const WARDEN_PROGRAM: &str = "SAGGAR_WARDEN";

/// The warden's program: this one, so that the two are of one build.
fn warden_program() -> std::io::Result<PathBuf> {
    std::env::var_os(WARDEN_PROGRAM).map_or_else(std::env::current_exe, |program| Ok(program.into()))
}

/// What the data folder held.
struct Opened {
    logbook: Logbook,
    latch: Latch,
    latched: Latched,
    interrupted: Option<Interrupted>,
    starts: Starts,
}

/// The logbook with nothing left open but what may be carried on, what the latch says, and this start
/// noted.
fn open_store(folder: &DataFolder, kiln: &KilnFile, clock: &KilnClock) -> Result<Opened, ServeError> {
    let path = DataFolder::logbook(folder.path());
    let mut latch = Latch::at(folder.latch());
    let mut starts = Starts::at(folder.starts());
    // Before the logbook: where there is one, a missing latch is a lost one.
    if !path.exists() {
        latch.begin()?;
        starts.begin()?;
    }
    starts.note(clock.wall());
    let logbook = Logbook::open(&path)?;
    logbook.number_after(DataFolder::latest_trace(folder.path())?)?;
    let interrupted = store::find_interrupted(folder.path(), &logbook, &kiln.outage)?;
    let looked_at = match kiln.outage {
        Outage::CarryOn { .. } => interrupted.as_ref().map(|interrupted| interrupted.id),
        Outage::RemainOff => None,
    };
    store::close_interrupted(folder.path(), &logbook, |row| Some(row.id) != looked_at)?;
    let latched = latch.read();
    match &latched {
        Latched::Clear => {}
        Latched::Trip(trip) => tracing::warn!("a trip waits to be cleared: {trip}"),
        Latched::Unreadable(why) => {
            tracing::error!(%why, "whether a trip waits to be cleared cannot be read: no light-up until it is cleared");
        }
    }
    Ok(Opened { logbook, latch, latched, interrupted, starts })
}

/// Serves the page until a signal, or until the control thread dies.
async fn attend(
    house: &Arc<House>,
    control: &ControlThread,
    listener: tokio::net::TcpListener,
    alight: Option<&Path>,
    manager: &ServiceManager,
) -> Result<(), ServeError> {
    let mut ready = house.snapshots.clone();
    if ready.wait_for(Option::is_some).await.is_err() {
        return Err(ServeError::ControlDied);
    }
    let address = listener.local_addr()?;
    // Before anybody can know that it runs.
    let told = Told::listen()?;
    announce(house, address);
    manager.tell(News::Ready);
    if let Some(path) = alight {
        light_at_once(house, path).await?;
    }
    tokio::select! {
        never = web::serve(listener, Arc::clone(house)) => match never {},
        () = told.come() => Ok(()),
        never = tell_status(house, manager) => match never {},
        () = until_dead(control) => Err(ServeError::ControlDied),
    }
}

fn announce(house: &House, address: SocketAddr) {
    if let Some(speed) = house.simulated {
        say(&format_args!("Simulated kiln \"{}\" at {speed} × real time: nothing is hot.", house.kiln.name));
    }
    say(&format_args!("Data in {}", house.folder.display()));
    say(&format_args!("Page at http://{address}/"));
}

/// A reader that has gone must not end a firing, as `println!` would.
fn say(words: &dyn std::fmt::Display) {
    let _unread = writeln!(std::io::stdout().lock(), "{words}");
}

async fn light_at_once(house: &Arc<House>, path: &Path) -> Result<(), ServeError> {
    let file = house.shelf.adopt(path, &house.kiln)?;
    let lit_house = Arc::clone(house);
    let lit = tokio::task::spawn_blocking(move || {
        let proving = lighting::changes(&lit_house)?.proving;
        let wanted =
            lighting::Wanted { file: &file, edition: None, delay: Millis::ZERO, by: By::StartCommand };
        lighting::light(&lit_house, &wanted).map(|id| (id, proving))
    });
    let (id, proving) = lit.await.map_err(std::io::Error::other)??;
    say(&"--alight confirms the whole checklist, every change of type, and that somebody is at the kiln. \
          It can: this kiln is simulated.");
    if !proving.is_empty() {
        say(&format_args!("It is a proving firing. {}", proving.join(" ")));
    }
    say(&format_args!("Firing {id} is alight (simulated)."));
    Ok(())
}

/// The service manager shows what the page's first sentence is, not older than a few seconds.
async fn tell_status(house: &House, manager: &ServiceManager) -> Infallible {
    let mut look = tokio::time::interval(STATUS_EVERY);
    let mut told = String::new();
    loop {
        look.tick().await;
        let said = house.snapshots.borrow().clone().map(|snapshot| web::said(house, &snapshot));
        if let Some(said) = said.filter(|said| *said != told) {
            manager.tell(News::Status(&said));
            told = said;
        }
    }
}

/// SIGTERM, SIGINT, or the SIGHUP of a terminal that was closed.
struct Told([Signal; 3]);

impl Told {
    /// From here on such a signal ends the program in order.
    fn listen() -> std::io::Result<Self> {
        let kinds = [SignalKind::terminate(), SignalKind::interrupt(), SignalKind::hangup()];
        let [terminate, interrupt, hang_up] = kinds.map(signal);
        Ok(Self([terminate?, interrupt?, hang_up?]))
    }

    async fn come(mut self) {
        let [terminate, interrupt, hang_up] = &mut self.0;
        tokio::select! {
            _ = terminate.recv() => {}
            _ = interrupt.recv() => {}
            _ = hang_up.recv() => {}
        }
    }
}

async fn until_dead(control: &ControlThread) {
    // Release builds abort on a panic; this is for the others.
    let mut look = tokio::time::interval(std::time::Duration::from_secs(1));
    while !control.has_died() {
        look.tick().await;
    }
}
