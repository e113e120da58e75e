//! Asks the amplifier on `/dev/spidev0.0` by Saggar's own driver: `ask-amplifier CHIP TYPE TIMES`, set up
//! first, then once a second, one report a line.

use std::error::Error;
use std::time::Duration;
use std::{env, thread};

use hal::Probe;
use hal::amplifier::max31856::Averaging;
use hal::amplifier::{Mains, Max31855, Max31856};
use linux_embedded_hal::SpidevDevice;
use linux_embedded_hal::spidev::{SpiModeFlags, SpidevOptions};
use pyrometry::thermocouple::Thermocouple;

fn main() -> Result<(), Box<dyn Error>> {
    let words: Vec<String> = env::args().skip(1).collect();
    let [chip, wire, times] = words.as_slice() else {
        return Err("usage: ask-amplifier CHIP TYPE TIMES".into());
    };
    let wire = Thermocouple::parse(wire).ok_or("no such type")?;
    let mut spi = SpidevDevice::open("/dev/spidev0.0")?;
    let mode = if chip == "MAX31855" { SpiModeFlags::SPI_MODE_0 } else { SpiModeFlags::SPI_MODE_1 };
    spi.configure(&SpidevOptions::new().bits_per_word(8).max_speed_hz(1_000_000).mode(mode).build())?;
    let mut probe: Box<dyn Probe> = match chip.as_str() {
        "MAX31855" => Box::new(Max31855::new(spi)),
        _ => Box::new(Max31856::new(spi, wire, Averaging::Four, Mains::Hertz50)),
    };
    thread::sleep(probe.set_up());
    for _ in 0..times.parse::<u32>()? {
        println!("{:?}", probe.report());
        thread::sleep(Duration::from_secs(1));
    }
    Ok(())
}
