//! What else the pins of a Raspberry Pi's header are for.
//!
//! Sources: Raspberry Pi's design guide for add-on boards (repository `raspberrypi/hats`,
//! `designguide.md`: configuration sequencing, and GPIO requirements); BCM2835 ARM Peripherals, table 6-31
//! (alternative functions, pulls at reset); the reduced schematics of the boards. What is from memory says
//! so.

/// What another duty of a pin means for whoever uses it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Duty {
    /// The pin must be left alone.
    Reserved(&'static str),
    /// It may move by itself, or not be ours.
    Doubtful(&'static str),
}

/// Pins without any other duty on every board with 40 pins, whatever is switched on.
pub(super) const FREE: &str = "use GPIO 12, 13 or 17 to 27";

/// The other duty of a GPIO; `None` where it has none that is switched on by default or at boot. SPI bus 1
/// (16 to 21) stands only where a kiln file or an overlay asks for it.
pub(super) fn of(pin: f64) -> Option<Duty> {
    const DUTIES: [(f64, f64, Duty); 8] = [
        // Design guide: nothing but the memory may be connected; the firmware talks to it at boot.
        (0.0, 1.0, Duty::Reserved("is for the identity memory of an add-on board alone, and moves at boot")),
        // Reduced schematics: 1.8 kΩ to 3.3 V. The waking is from memory (documentation of `gpio-shutdown`).
        (2.0, 2.0, Duty::Doubtful("is I2C bus 1's, with a fixed resistor of 1.8 kΩ to the supply")),
        (
            3.0,
            3.0,
            Duty::Doubtful(
                "is I2C bus 1's, with a fixed resistor of 1.8 kΩ to the supply, and low it wakes a halted board",
            ),
        ),
        // From memory: the default of the overlay `w1-gpio`.
        (4.0, 4.0, Duty::Doubtful("is the 1-wire bus's where `dtoverlay=w1-gpio` switches that on")),
        // Design guide: LAN_RUN and STATUS_LED of the first boards.
        (6.0, 6.0, Duty::Doubtful("may be driven at boot by firmware older than the board")),
        // `dtparam=spi=on` gives them to the kernel; one that a probe needs is refused before this.
        (7.0, 11.0, Duty::Doubtful("is SPI bus 0's where `dtparam=spi=on` switches that on")),
        // Design guide: UART_TX of the first boards, `enable_uart` of later ones.
        (14.0, 15.0, Duty::Doubtful("is the serial console: it moves at boot")),
        (16.0, 16.0, Duty::Doubtful("may be driven at boot by firmware older than the board")),
    ];
    let found = DUTIES.into_iter().find(|(first, last, _)| (*first..=*last).contains(&pin));
    found.map(|(_, _, duty)| duty)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The pins that the design guide and table 6-31 leave without a word.
    #[test]
    fn the_pins_that_are_called_free_have_no_other_duty_and_the_others_have() {
        let free: Vec<u32> = (0..=27).filter(|pin| of(f64::from(*pin)).is_none()).collect();
        assert_eq!(free, [5, 12, 13, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27]);
        for reserved in [0.0, 1.0] {
            assert!(matches!(of(reserved), Some(Duty::Reserved(_))), "{reserved}");
        }
    }
}
