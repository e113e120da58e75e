//! The line to the daemon: frames in, words out, and the time in between.

use std::io::{ErrorKind, Read, Write};
use std::os::unix::net::UnixStream;
use std::time::{Duration, Instant};

use pyrometry::units::Millis;
use warden::{FRAME_BYTES, Frame, Word};

use crate::limit_probe::{LimitProbe, Sample};
use crate::post::Post;
use crate::safety_pins::SafetyPins;

/// Between two looks at the time when nothing arrives: what silence may last too long by.
const LOOK: Duration = Duration::from_millis(100);
/// The longest an answer may wait for room. A daemon that reads nothing loses answers; it never
/// keeps the warden from its next look.
const ANSWER_LONGEST: Duration = Duration::from_millis(10);

/// Why the warden has left its post, with everything off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ended {
    /// The daemon has closed the line, or died.
    LineClosed,
    /// Something that is no frame arrived: where the next one begins cannot be known any more.
    Garbled,
    /// The line itself failed.
    LineFailed,
}

/// What one look at the line brought.
enum Came {
    Frame([u8; FRAME_BYTES]),
    Nothing,
}

/// Stands guard until the line ends. Afterwards everything is off.
pub(crate) fn stand_guard<P: SafetyPins>(
    mut post: Post<P>,
    mut line: UnixStream,
    limit: Option<&LimitProbe>,
) -> Ended {
    let began = Instant::now();
    let since_began = |instant: Instant| {
        Millis::new(u64::try_from(instant.saturating_duration_since(began).as_millis()).unwrap_or(u64::MAX))
    };
    let first = limit.and_then(LimitProbe::first);
    let timed = line.set_read_timeout(Some(LOOK)).and_then(|()| line.set_write_timeout(Some(ANSWER_LONGEST)));
    if timed.is_err() {
        return Ended::LineFailed;
    }
    let mut inbox = Inbox::default();
    if let Some(Sample { taken, reading }) = first {
        post.read(reading, since_began(taken));
    }
    let mut told = post.word(since_began(Instant::now()));
    answer(&mut line, told);
    loop {
        let came = inbox.look(&mut line);
        while let Some(Sample { taken, reading }) = limit.and_then(LimitProbe::next) {
            post.read(reading, since_began(taken));
        }
        let at = since_began(Instant::now());
        match came {
            Ok(Came::Frame(bytes)) => {
                let frame = Frame::from_bytes(&bytes);
                told = post.hear(frame, at);
                answer(&mut line, told);
                if frame.is_err() {
                    return Ended::Garbled;
                }
            }
            Ok(Came::Nothing) => {
                let word = post.act(at);
                if word.is_news_after(&told) {
                    told = word;
                    answer(&mut line, word);
                }
            }
            Err(ended) => {
                post.shut();
                return ended;
            }
        }
    }
}

/// An answer that cannot be sent is lost; the daemon that misses it takes the heat away by itself.
fn answer(line: &mut UnixStream, word: Word) {
    let _lost = line.write_all(&word.to_bytes());
}

/// Gathers a frame from the pieces in which a stream may bring it.
struct Inbox {
    bytes: [u8; FRAME_BYTES],
    filled: usize,
}

impl Default for Inbox {
    fn default() -> Self {
        Self { bytes: [0; FRAME_BYTES], filled: 0 }
    }
}

impl Inbox {
    fn look(&mut self, line: &mut impl Read) -> Result<Came, Ended> {
        let room = self.bytes.get_mut(self.filled..).ok_or(Ended::LineFailed)?;
        match line.read(room) {
            Ok(0) => Err(Ended::LineClosed),
            Ok(count) => {
                self.filled += count;
                if self.filled < FRAME_BYTES {
                    return Ok(Came::Nothing);
                }
                self.filled = 0;
                Ok(Came::Frame(self.bytes))
            }
            Err(why) if matches!(why.kind(), ErrorKind::WouldBlock | ErrorKind::Interrupted) => {
                Ok(Came::Nothing)
            }
            // A daemon that dies with answers unread resets the line.
            Err(why) if why.kind() == ErrorKind::ConnectionReset => Err(Ended::LineClosed),
            Err(_) => Err(Ended::LineFailed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Failing(ErrorKind);

    impl Read for Failing {
        fn read(&mut self, _room: &mut [u8]) -> std::io::Result<usize> {
            Err(self.0.into())
        }
    }

    #[test]
    fn sr_30_a_line_with_nothing_to_read_yet_is_waited_for_and_one_that_failed_is_given_up() {
        for kind in [ErrorKind::WouldBlock, ErrorKind::Interrupted] {
            assert!(matches!(Inbox::default().look(&mut Failing(kind)), Ok(Came::Nothing)), "{kind}");
        }
        let reset = Inbox::default().look(&mut Failing(ErrorKind::ConnectionReset));
        assert!(matches!(reset, Err(Ended::LineClosed)), "the daemon died");
        for kind in [ErrorKind::BrokenPipe, ErrorKind::NotConnected, ErrorKind::Other] {
            assert!(matches!(Inbox::default().look(&mut Failing(kind)), Err(Ended::LineFailed)), "{kind}");
        }
    }
}
