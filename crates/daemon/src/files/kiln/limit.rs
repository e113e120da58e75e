//! The file of the warden's own limit probe, as the kiln file names it and the kiln must suit it.
//!
//! What is in it is the warden's alone: here it is only looked at, so that what is wrong is told in words
//! before a warden that cannot start, and so that the probe has an amplifier of its own.

use std::path::{Path, PathBuf};

use hal::bus::Connection;
use warden_process::{BadLimitFile, LimitFile, Place};

use super::wire::WardenSection;
use super::{Board, KilnFile, pins};

/// Why a limit file does not do for a kiln.
#[derive(Debug, thiserror::Error)]
pub enum NoLimit {
    /// There is something wrong with it.
    #[error(transparent)]
    Bad(#[from] BadLimitFile),
    /// It does not suit the kiln.
    #[error("limit file {}: {wrong}; {cure}", path.display())]
    Unsuited {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        wrong: String,
        /// What to do.
        cure: &'static str,
    },
}

/// The path as it is written.
pub(super) fn file(section: &WardenSection) -> Option<PathBuf> {
    section.limit_file.as_ref().map(|written| PathBuf::from(&written.value.0))
}

/// A relative path lies beside the kiln file.
pub(super) fn place_beside(kiln_file: &Path, kiln: &mut KilnFile) {
    if let (Some(limit), Some(folder)) = (&mut kiln.limit_file, kiln_file.parent()) {
        *limit = folder.join(&*limit);
    }
}

impl KilnFile {
    /// What the limit file says, where there is one and it suits this kiln.
    pub fn limit(&self) -> Result<Option<LimitFile>, NoLimit> {
        let Some(path) = &self.limit_file else { return Ok(None) };
        let file = LimitFile::read(path)?;
        let unsuited = |(wrong, cure)| NoLimit::Unsuited { path: path.clone(), wrong, cure };
        match file.place {
            Place::Readings(_) if !matches!(self.board, Board::Simulated(_)) => {
                let wrong = "`readings` are for a simulated kiln, and this one is real".to_owned();
                Err(unsuited((wrong, "say where the amplifier is, such as: spi 0 1")))
            }
            Place::Readings(_) => Ok(Some(file)),
            Place::Connected(at) => match self.stands_against(at) {
                Some(against) => Err(unsuited(against)),
                None => Ok(Some(file)),
            },
        }
    }

    fn stands_against(&self, at: Connection) -> Option<(String, &'static str)> {
        let probes = self.connected_probes().iter().any(|probe| probe.at == at);
        let converter = self.connected_converter();
        let converter = converter.map(|found| (found.bus, found.chip_select));
        let is_converters =
            matches!(at, Connection::Spi { bus, chip_select } if converter == Some((bus, chip_select)));
        if probes || is_converters {
            let wrong = format!("another chip of the kiln file is at the same place of {}", at.device());
            return Some((wrong, "give the limit probe an amplifier of its own"));
        }
        let pins =
            (0..=u16::from(u8::MAX)).filter(|pin| self.board == Board::RaspberryPi && self.uses_pin(*pin));
        let mut taken = pins.filter_map(|pin| Some((pin, pins::bus_that_needs(at, pin)?)));
        taken.next().map(|(pin, bus)| {
            let wrong = format!("{bus}, where its amplifier is, needs GPIO {pin}, which the kiln file uses");
            (wrong, "use another pin there, or another bus here")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{REAL, checked};
    use super::*;

    const LIMIT: &str = "ceiling-c 1280\namplifier MAX31856\nthermocouple K\nspi 0 1\nmains-hz 50\n";

    fn with_limit(kiln: &str, limit: &str) -> Result<Option<LimitFile>, String> {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("limit"), limit).unwrap();
        let path = folder.path().join("kiln.toml");
        let (warden, rest) = kiln.split_once("[warden]").unwrap_or((kiln, ""));
        std::fs::write(&path, format!("{warden}\n[warden]\nlimit_file = \"limit\"\n{rest}")).unwrap();
        let kiln = super::super::load(&path).unwrap_or_else(|refused| panic!("{refused}")).value;
        assert_eq!(kiln.limit_file, Some(folder.path().join("limit")), "beside the kiln file");
        kiln.limit().map_err(|why| why.to_string())
    }

    #[test]
    fn sr_37_a_kiln_file_names_the_limit_file_and_without_one_there_is_none() {
        assert_eq!(checked(REAL).unwrap().value.limit_file, None);
        assert!(matches!(checked(REAL).unwrap().value.limit(), Ok(None)));
        let limit = with_limit(REAL, LIMIT).unwrap().unwrap();
        assert_eq!(limit.place, Place::Connected(Connection::Spi { bus: 0, chip_select: 1 }));
        let simulated = with_limit(super::super::SIMULATED, &LIMIT.replace("spi 0 1", "readings here"));
        assert!(simulated.unwrap().is_some(), "and no contactor_pin is asked of a simulated kiln");
    }

    #[test]
    fn sr_37_a_limit_probe_has_an_amplifier_of_its_own_on_a_bus_whose_pins_are_free() {
        let device = |chip_select| Connection::Spi { bus: 0, chip_select }.device();
        let told = with_limit(REAL, &LIMIT.replace("spi 0 1", "spi 0 0")).unwrap_err();
        assert!(told.contains(&format!("the same place of {}; give the limit probe", device(0))), "{told}");
        let converter = "[converter]\nchip = \"MCP3008\"\nbus = 0\nchip_select = 1\nreference_v = 3.3\n";
        let told = with_limit(&format!("{REAL}\n{converter}"), LIMIT).unwrap_err();
        assert!(told.contains(&format!("the same place of {}", device(1))), "{told}");
        let told = with_limit(REAL, &LIMIT.replace("spi 0 1", "spi 1 0")).unwrap_err();
        assert!(told.contains("SPI bus 1, where its amplifier is, needs GPIO 17"), "{told}");
        let on_i2c = LIMIT.replace("MAX31856", "MCP9600").replace("spi 0 1", "i2c 1 0x67");
        assert!(with_limit(REAL, &on_i2c).is_ok());
        assert!(with_limit(&REAL.replace("pin = 27", "pin = 3"), &on_i2c).unwrap_err().contains("I2C bus 1"));
    }

    #[test]
    fn sr_37_a_real_kilns_limit_probe_is_none_that_is_only_written() {
        let told = with_limit(REAL, &LIMIT.replace("spi 0 1", "readings here")).unwrap_err();
        assert!(told.contains("`readings` are for a simulated kiln, and this one is real"), "{told}");
        let told = with_limit(REAL, &LIMIT.replace("1280", "hot")).unwrap_err();
        assert!(told.contains("limit, line 1: `ceiling-c hot` cannot be understood"), "{told}");
    }
}
