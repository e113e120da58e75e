//! The HTTP side: the page, its data, and the orders people give.
//!
//! One rule stands before every route: who is asking, and may they (`caller`). Nothing else in
//! here decides that, so that pairing changes one file.

mod api;
mod caller;
mod curve;
mod door;
mod error;
mod firings;
mod light_up;
mod lobby;
mod now;
mod orders;
mod page;
mod schedules;
mod stream;
mod uncertainty;

use std::net::SocketAddr;
use std::sync::mpsc::SyncSender;
use std::sync::{Arc, Mutex, PoisonError};

use axum::Router;
use axum::middleware;
use axum::routing::{get, post};
use kiln_sim::SimulatedButton;
use tokio::sync::watch;

use crate::clock::KilnClock;
use crate::files::kiln::{KilnFile, Outliving};
use crate::learning::Lessons;
use crate::run::{Ask, ShutOff, Snapshot};
use crate::schedules::Shelf;
use crate::store::{Became, Interrupted, LiveCurve, Logbook};

pub use api::*;
pub use curve::PastCurves;
pub use door::serve;
pub use firings::{is_left_open, summary};
pub use now::said;

/// Everything the routes need.
#[derive(Debug)]
pub struct House {
    /// The kiln.
    pub kiln: KilnFile,
    /// Its outputs, where they would stay on without us.
    pub outliving: Option<Outliving>,
    /// How many times faster than real time a simulated kiln runs; `None` on a real board.
    pub simulated: Option<f64>,
    /// The time of day at the kiln.
    pub clock: KilnClock,
    /// The kiln as it is; `None` before the first step.
    pub snapshots: watch::Receiver<Option<Arc<Snapshot>>>,
    /// Where asks go.
    pub asks: SyncSender<Ask>,
    /// The shut-off's own way.
    pub shut_off: ShutOff,
    /// The button of a simulated kiln that has one.
    pub button: Option<SimulatedButton>,
    /// The logbook.
    pub logbook: Logbook,
    /// The number after which firings tell of this kiln's temperature: each start makes a new simulated
    /// kiln, which is cold; a real one is the same.
    pub known_after: i64,
    /// The data folder.
    pub folder: std::path::PathBuf,
    /// The firing that the program or the power ended, until the next light-up.
    pub interrupted: Mutex<Option<Interrupted>>,
    /// The schedules.
    pub shelf: Shelf,
    /// The curve of the firing under way.
    pub curve: LiveCurve,
    /// The curves of past firings that were last looked at.
    pub past_curves: PastCurves,
    /// What firings have taught of the kiln.
    pub lessons: Lessons,
}

impl House {
    /// Whether a firing that was ended is being looked at: it may be carried on any moment.
    #[must_use]
    pub fn looks_at_a_firing(&self) -> bool {
        let told = self.interrupted.lock().unwrap_or_else(PoisonError::into_inner);
        told.as_ref().is_some_and(|told| told.became == Became::LookedAt)
    }
}

type State = axum::extract::State<Arc<House>>;

/// Every route, behind the one rule.
fn router(house: Arc<House>) -> Router {
    Router::new()
        .route("/", get(page::document))
        .route("/{asset}", get(page::asset))
        .route("/api/now", get(now::get))
        .route("/api/stream", get(stream::get))
        .route("/api/orders", post(orders::post))
        .route("/api/light-up", get(light_up::get).post(light_up::post))
        .route("/api/simulated/button", post(light_up::press))
        .route("/api/schedules", get(schedules::list))
        .route("/api/schedules/{file}", get(schedules::one))
        .route("/api/firings", get(firings::list))
        .route("/api/firings/{id}", get(firings::one))
        .route("/api/firings/{id}/curve", get(curve::get))
        .fallback(error::no_such_page)
        .layer(middleware::from_fn(door::take_whole))
        .layer(middleware::from_fn(caller::admit))
        .with_state(house)
}

/// Why the page is not served at an address.
#[derive(Debug, thiserror::Error)]
pub enum ListenError {
    /// Others could reach it.
    #[error(
        "{0} can be reached from other computers, and nothing yet asks them who they are: \
         only addresses of this computer itself, such as 127.0.0.1, may be listened on"
    )]
    NotOnlyHere(SocketAddr),
    /// The system would not.
    #[error("cannot listen on {address}: {why}")]
    System {
        /// The address.
        address: SocketAddr,
        /// What the system said.
        why: std::io::Error,
    },
}

/// Opens the door, for this computer alone.
pub async fn listen(address: SocketAddr) -> Result<tokio::net::TcpListener, ListenError> {
    if !address.ip().is_loopback() {
        return Err(ListenError::NotOnlyHere(address));
    }
    tokio::net::TcpListener::bind(address).await.map_err(|why| ListenError::System { address, why })
}
