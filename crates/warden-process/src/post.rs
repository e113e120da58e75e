//! The warden at its post: the judgement with the pins in hand.

use hal::{Level, PinFault};
use pyrometry::amplifier::SensorFault;
use pyrometry::units::{Celsius, Millis};
use warden::{Distrust, Frame, Garbled, Warden, Word};

use crate::safety_pins::SafetyPins;

/// A warden that holds its pins.
#[derive(Debug)]
pub(crate) struct Post<P> {
    warden: Warden,
    pins: P,
    /// What the contactor was driven to last.
    driven: Level,
    found: Level,
    heard: u32,
}

impl<P: SafetyPins> Post<P> {
    /// Takes the pins, and opens the contactor, whatever it was before (SR-32). With a ceiling it waits
    /// for what the limit probe reads.
    pub(crate) fn take(mut pins: P, ceiling: Option<Celsius>) -> Result<Self, PinFault> {
        let found = pins.contactor();
        pins.drive_contactor(Level::Off)?;
        let warden = ceiling.map_or_else(Warden::default, Warden::with_limit);
        Ok(Self { warden, pins, driven: Level::Off, found: found?, heard: 0 })
    }

    /// Takes what the limit probe read, and when. What it means comes with the next act.
    pub(crate) fn read(&mut self, reading: Result<Celsius, SensorFault>, at: Millis) {
        self.warden.read(reading, at);
    }

    /// Hears what came over the line, and acts on it.
    pub(crate) fn hear(&mut self, frame: Result<Frame, Garbled>, at: Millis) -> Word {
        match frame {
            Ok(Frame::Arm) => self.warden.arm(at),
            Ok(Frame::Beat(beat)) => {
                self.warden.hear(beat, at);
                self.heard = beat.sequence;
            }
            Err(Garbled) => self.warden.lose_trust(Distrust::Garbled),
        }
        self.act(at)
    }

    /// Acts on the time alone.
    pub(crate) fn act(&mut self, at: Millis) -> Word {
        // A pin that somebody else has driven is not driven back: whoever opened it had a reason.
        if self.pins.contactor() != Ok(self.driven) {
            self.warden.lose_trust(Distrust::PinUnsound);
        }
        let wanted = self.warden.contactor(at);
        if wanted != self.driven && self.pins.drive_contactor(wanted).is_err() {
            self.warden.lose_trust(Distrust::PinUnsound);
        }
        self.driven = self.warden.contactor(at);
        // Never armed since the start is no reason: the daemon's banks are its own at rest.
        if self.warden.distrust().is_some_and(|why| why != Distrust::NotArmed) {
            self.shut();
        }
        self.word(at)
    }

    /// Everything off, as far as it can be done. What fails is tried again with the next act.
    pub(crate) fn shut(&mut self) {
        self.driven = Level::Off;
        if self.pins.all_off().is_err() {
            self.warden.lose_trust(Distrust::PinUnsound);
        }
    }

    pub(crate) fn word(&self, at: Millis) -> Word {
        Word {
            contactor: self.driven,
            distrust: self.warden.distrust(),
            found: self.found,
            heard: self.heard,
            limit: self.warden.limit(at),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;
    use std::rc::Rc;

    use warden::{Beat, LimitFinding, Permission, Stages};

    use super::*;

    #[derive(Debug, Default)]
    struct Wires {
        contactor: Cell<Level>,
        banks: Cell<Level>,
        cannot_close: Cell<bool>,
        unreadable: Cell<bool>,
    }

    #[derive(Debug)]
    struct Bench(Rc<Wires>);

    impl SafetyPins for Bench {
        fn drive_contactor(&mut self, level: Level) -> Result<(), PinFault> {
            if self.0.cannot_close.get() && level == Level::On {
                return Err(PinFault);
            }
            self.0.contactor.set(level);
            Ok(())
        }

        fn contactor(&mut self) -> Result<Level, PinFault> {
            if self.0.unreadable.get() { Err(PinFault) } else { Ok(self.0.contactor.get()) }
        }

        fn all_off(&mut self) -> Result<(), PinFault> {
            self.0.banks.set(Level::Off);
            self.drive_contactor(Level::Off)
        }
    }

    fn beat(number: u32) -> Frame {
        let stages = Stages { read: number, decided: number, acted: number, recorded: number };
        Frame::Beat(Beat { sequence: number, permission: Permission::Granted, stages })
    }

    fn closed() -> (Rc<Wires>, Post<Bench>) {
        let wires = Rc::new(Wires { banks: Cell::new(Level::On), ..Wires::default() });
        let mut post = Post::take(Bench(Rc::clone(&wires)), None).expect("pins");
        post.hear(Ok(Frame::Arm), Millis::ZERO);
        assert_eq!(post.hear(Ok(beat(1)), Millis::ZERO).contactor, Level::On);
        assert_eq!(wires.contactor.get(), Level::On);
        (wires, post)
    }

    #[test]
    fn sr_32_a_contactor_found_closed_is_opened_and_told() {
        let wires = Rc::new(Wires { contactor: Cell::new(Level::On), ..Wires::default() });
        let post = Post::take(Bench(Rc::clone(&wires)), None).expect("pins");
        assert_eq!((post.word(Millis::ZERO).found, wires.contactor.get()), (Level::On, Level::Off));
    }

    #[test]
    fn sr_30_a_garbled_frame_opens_and_the_banks_go_off_too() {
        let (wires, mut post) = closed();
        let word = post.hear(Err(Garbled), Millis::ZERO);
        assert_eq!((word.contactor, word.distrust), (Level::Off, Some(Distrust::Garbled)));
        assert_eq!((wires.contactor.get(), wires.banks.get()), (Level::Off, Level::Off));
    }

    #[test]
    fn sr_30_a_contactor_pin_that_somebody_else_opened_stays_open_until_armed_anew() {
        let (wires, mut post) = closed();
        wires.contactor.set(Level::Off);
        assert_eq!(post.hear(Ok(beat(2)), Millis::ZERO).distrust, Some(Distrust::PinUnsound));
        assert_eq!(
            (post.hear(Ok(beat(3)), Millis::ZERO).contactor, wires.contactor.get()),
            (Level::Off, Level::Off)
        );
        post.hear(Ok(Frame::Arm), Millis::ZERO);
        assert_eq!(post.hear(Ok(beat(4)), Millis::ZERO).contactor, Level::On);
    }

    #[test]
    fn sr_30_a_pin_that_cannot_be_read_back_opens_it() {
        let (wires, mut post) = closed();
        wires.unreadable.set(true);
        assert_eq!(post.act(Millis::new(10)).distrust, Some(Distrust::PinUnsound));
        assert_eq!(wires.contactor.get(), Level::Off);
    }

    #[test]
    fn sr_30_a_pin_that_cannot_be_closed_is_told_as_open() {
        let wires = Rc::new(Wires { cannot_close: Cell::new(true), ..Wires::default() });
        let mut post = Post::take(Bench(Rc::clone(&wires)), None).expect("pins");
        post.hear(Ok(Frame::Arm), Millis::ZERO);
        let word = post.hear(Ok(beat(1)), Millis::ZERO);
        assert_eq!((word.contactor, word.distrust), (Level::Off, Some(Distrust::PinUnsound)));
    }

    #[test]
    fn at_rest_the_banks_are_left_to_their_owner() {
        let wires = Rc::new(Wires { banks: Cell::new(Level::On), ..Wires::default() });
        let mut post = Post::take(Bench(Rc::clone(&wires)), None).expect("pins");
        assert_eq!(post.act(Millis::from_seconds(60)).distrust, Some(Distrust::NotArmed));
        assert_eq!(wires.banks.get(), Level::On);
    }

    #[test]
    fn sr_37_above_its_ceiling_the_limit_probe_takes_contactor_and_banks_and_below_it_leaves_them() {
        let wires = Rc::new(Wires { banks: Cell::new(Level::On), ..Wires::default() });
        let degrees = |c| Ok(Celsius::new(c).expect("a temperature"));
        let mut post = Post::take(Bench(Rc::clone(&wires)), Celsius::new(1280.0)).expect("pins");
        post.read(degrees(20.0), Millis::ZERO);
        post.hear(Ok(Frame::Arm), Millis::ZERO);
        assert_eq!(post.hear(Ok(beat(1)), Millis::ZERO).contactor, Level::On);
        (0..2).for_each(|_| post.read(degrees(1281.0), Millis::ZERO));
        assert_eq!(post.act(Millis::new(10)).contactor, Level::On);
        post.read(degrees(1281.0), Millis::ZERO);
        let word = post.act(Millis::new(20));
        assert_eq!((word.contactor, word.distrust), (Level::Off, Some(Distrust::AboveLimit)));
        assert_eq!((wires.contactor.get(), wires.banks.get()), (Level::Off, Level::Off));
        let told = word.limit.expect("it has one");
        assert_eq!((told.finding, told.latest), (LimitFinding::Above, Some(degrees(1281.0))));
    }
}
