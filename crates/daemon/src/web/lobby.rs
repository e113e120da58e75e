//! Who is connected: how many may be, and who has to go when it is full.
//!
//! Anybody at this computer can open connections and say nothing. So nobody holds a place by
//! silence: when all are taken, the connection that has been idle longest ends, and whoever comes
//! next, perhaps to shut off, is let in.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use tokio::sync::Notify;

/// Connections at a time, streams aside: ten browsers with six each (engineering judgement).
const GUESTS_MOST: usize = 64;
/// Files that are left to the rest of the program where connections have taken every one it may
/// open: two for the latch, three for the logbook, one for a trace, two for schedules.
const FILES_LEFT: usize = 8;
/// Connections at a time, however few files there are: a browser opens six.
const GUESTS_LEAST: usize = 6;
/// Pages that may follow the kiln at a time (engineering judgement).
const STREAMS_MOST: usize = 16;
/// A stream has something to say every second; a browser that takes nothing for so long is gone.
const STALLED: Duration = Duration::from_secs(30);

/// What a connection is at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Doing {
    /// Nothing that is being answered: it has not asked yet, or takes its time to read.
    Idle,
    /// Waiting for an answer.
    Asking,
    /// Following the stream of snapshots.
    Watching,
}

#[derive(Debug)]
struct Place {
    id: u64,
    doing: Doing,
    since: Instant,
    leave: Arc<Notify>,
}

#[derive(Debug)]
struct Places {
    taken: Vec<Place>,
    most: usize,
    last_id: u64,
}

/// All connections.
#[derive(Clone, Debug, Default)]
pub(super) struct Lobby(Arc<Inner>);

#[derive(Debug, Default)]
struct Inner {
    places: Mutex<Places>,
    /// Somebody has gone, or has become idle.
    changed: Notify,
}

/// One connection, as its requests know it.
#[derive(Clone, Debug)]
pub(super) struct Guest {
    id: u64,
    lobby: Lobby,
}

/// A connection's place; free again when this is dropped.
#[derive(Debug)]
pub(super) struct Seat {
    guest: Guest,
    leave: Arc<Notify>,
}

/// A request being answered.
#[derive(Debug)]
pub(super) struct Asking(Guest);

/// A page that follows the kiln.
#[derive(Debug)]
pub(super) struct Watching(Guest);

impl Default for Places {
    fn default() -> Self {
        Self { taken: Vec::new(), most: GUESTS_MOST, last_id: 0 }
    }
}

impl Places {
    fn turn(&mut self, id: u64, from: Doing, to: Doing) {
        if let Some(place) = self.taken.iter_mut().find(|place| place.id == id)
            && place.doing == from
        {
            (place.doing, place.since) = (to, Instant::now());
        }
    }

    fn count(&self, wanted: impl Fn(Doing) -> bool) -> usize {
        self.taken.iter().filter(|place| wanted(place.doing)).count()
    }

    /// Ends the connection that has been at this longest, and for at least so long.
    fn end_longest(&mut self, doing: Doing, at_least: Duration) -> bool {
        let waiting = self.taken.iter().enumerate().filter(|(_, place)| place.doing == doing);
        let longest = waiting.min_by_key(|(_, place)| place.since);
        match longest {
            Some((at, place)) if place.since.elapsed() >= at_least => {
                self.taken.swap_remove(at).leave.notify_one();
                true
            }
            Some(_) | None => false,
        }
    }
}

impl Lobby {
    fn places(&self) -> MutexGuard<'_, Places> {
        self.0.places.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A place for a new connection, as soon as there is one.
    pub(super) async fn admit(&self) -> Seat {
        loop {
            if let Some(seat) = self.admit_now() {
                return seat;
            }
            self.0.changed.notified().await;
        }
    }

    fn admit_now(&self) -> Option<Seat> {
        let mut places = self.places();
        let full = places.count(|doing| doing != Doing::Watching) >= places.most;
        if full && !places.end_longest(Doing::Idle, Duration::ZERO) {
            return None;
        }
        places.last_id += 1;
        let (id, leave) = (places.last_id, Arc::new(Notify::new()));
        places.taken.push(Place { id, doing: Doing::Idle, since: Instant::now(), leave: Arc::clone(&leave) });
        Some(Seat { guest: Guest { id, lobby: self.clone() }, leave })
    }

    /// Where the system gives no more files: fewer places from now on, and the longest idle go.
    pub(super) fn make_room(&self) {
        let mut places = self.places();
        let left = places.taken.len().saturating_sub(FILES_LEFT);
        places.most = places.most.min(left).max(GUESTS_LEAST);
        while places.taken.len() > places.most && places.end_longest(Doing::Idle, Duration::ZERO) {}
    }
}

impl Guest {
    fn becomes(&self, from: Doing, to: Doing) {
        self.lobby.places().turn(self.id, from, to);
        if to == Doing::Idle {
            self.lobby.0.changed.notify_one();
        }
    }

    /// A whole request has come; it is not ended before it is answered.
    pub(super) fn ask(&self) -> Asking {
        self.becomes(Doing::Idle, Doing::Asking);
        Asking(self.clone())
    }

    /// Follows the kiln from now on; `None` when too many do.
    pub(super) fn watch(&self) -> Option<Watching> {
        let mut places = self.lobby.places();
        let full = places.count(|doing| doing == Doing::Watching) >= STREAMS_MOST;
        if full && !places.end_longest(Doing::Watching, STALLED) {
            return None;
        }
        places.turn(self.id, Doing::Asking, Doing::Watching);
        Some(Watching(self.clone()))
    }
}

impl Watching {
    /// The browser has taken what came before.
    pub(super) fn goes_on(&self) {
        self.0.becomes(Doing::Watching, Doing::Watching);
    }
}

impl Seat {
    pub(super) fn guest(&self) -> Guest {
        self.guest.clone()
    }

    /// Waits until somebody else needs the place more.
    pub(super) async fn told_to_leave(&self) {
        self.leave.notified().await;
    }
}

impl Drop for Asking {
    fn drop(&mut self) {
        self.0.becomes(Doing::Asking, Doing::Idle);
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        self.0.becomes(Doing::Watching, Doing::Idle);
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        self.guest.lobby.places().taken.retain(|place| place.id != self.guest.id);
        self.guest.lobby.0.changed.notify_one();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn full() -> (Lobby, Vec<Seat>) {
        let lobby = Lobby::default();
        let seats = (0..GUESTS_MOST).map(|_| lobby.admit_now().expect("room")).collect();
        (lobby, seats)
    }

    fn has_to_leave(seat: &Seat) -> bool {
        !seat.guest.lobby.places().taken.iter().any(|place| place.id == seat.guest.id)
    }

    #[test]
    fn when_all_places_are_taken_the_longest_idle_goes_and_none_that_waits_for_an_answer() {
        let (lobby, seats) = full();
        let _asking = seats[0].guest().ask();
        // An answer just given is the last to go.
        drop(seats[1].guest().ask());
        let _newcomer = lobby.admit_now().expect("let in");
        let gone: Vec<bool> = seats.iter().map(has_to_leave).collect();
        assert_eq!(gone.iter().position(|gone| *gone), Some(2));
        assert_eq!(gone.iter().filter(|gone| **gone).count(), 1);
    }

    #[test]
    fn where_the_system_gives_no_more_files_some_are_left_to_the_rest_of_the_program() {
        let (lobby, seats) = full();
        lobby.make_room();
        assert_eq!(seats.iter().filter(|seat| has_to_leave(seat)).count(), FILES_LEFT);
        let _newcomer = lobby.admit_now().expect("let in for another");
        assert_eq!(lobby.places().taken.len(), GUESTS_MOST - FILES_LEFT);
        (0..100).for_each(|_| lobby.make_room());
        assert_eq!(lobby.places().taken.len(), GUESTS_LEAST);
    }

    #[tokio::test]
    async fn when_all_wait_for_answers_a_newcomer_waits_until_one_has_his() {
        let (lobby, seats) = full();
        let mut asking: Vec<Asking> = seats.iter().map(|seat| seat.guest().ask()).collect();
        assert!(lobby.admit_now().is_none());
        let waiting = tokio::spawn({
            let lobby = lobby.clone();
            async move { lobby.admit().await }
        });
        asking.pop();
        waiting.await.expect("let in");
        assert!(has_to_leave(seats.last().expect("one")));
    }

    #[test]
    fn pages_that_follow_take_no_place_from_others_and_are_limited_themselves() {
        let (lobby, seats) = full();
        let pages: Vec<(Asking, Watching)> = seats[..STREAMS_MOST]
            .iter()
            .map(|seat| (seat.guest().ask(), seat.guest().watch().expect("room")))
            .collect();
        let more: Vec<Seat> = (0..STREAMS_MOST).map(|_| lobby.admit_now().expect("room")).collect();
        assert!(!seats.iter().any(has_to_leave));
        let _asking = more[0].guest().ask();
        assert!(more[0].guest().watch().is_none(), "one too many");
        drop(pages);
        assert!(more[0].guest().watch().is_some());
    }
}
