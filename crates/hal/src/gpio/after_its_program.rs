//! What a kernel makes of a pin whose program has ended (SR-32).
//!
//! Upstream a Raspberry Pi's driver makes it an input, so that the resistor outside decides; the board
//! maker's kernels leave it as it was driven, which a parameter of the driver says and changes (Linux 6.10,
//! `pinctrl: bcm2835: Make pin freeing behavior configurable`; `raspberrypi/linux`, pull requests 6117 and
//! 6150, for the driver of the Raspberry Pi 5). Other drivers have no such parameter.

use std::fs;
use std::path::{Path, PathBuf};

/// Where the kernel shows its devices and its drivers' parameters.
const SYSFS: &str = "/sys";

/// What becomes of a driven pin when its program ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AfterItsProgram {
    /// It stays as it was driven, until this word stands on the kernel's command line.
    Stays {
        /// The word.
        cure: &'static str,
    },
    /// It becomes an input: what pulls at it from outside decides.
    IsLetGo,
    /// The kernel does not say.
    NotKnown,
}

/// A driver that can be told what to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Driver {
    /// Its name, as a device has it.
    name: &'static str,
    /// Its parameter's file.
    parameter: &'static str,
    cure: &'static str,
}

/// Raspberry Pi 1 to 4.
const BCM2835: Driver = Driver {
    name: "pinctrl-bcm2835",
    parameter: "module/pinctrl_bcm2835/parameters/persist_gpio_outputs",
    cure: "pinctrl_bcm2835.persist_gpio_outputs=n",
};
/// Raspberry Pi 5.
const RP1: Driver = Driver {
    name: "pinctrl-rp1",
    parameter: "module/pinctrl_rp1/parameters/persist_gpio_outputs",
    cure: "pinctrl_rp1.persist_gpio_outputs=n",
};
const DRIVERS: [Driver; 2] = [BCM2835, RP1];

/// What this computer's kernel makes of the lines of a chip such as `/dev/gpiochip0`. Nothing is opened
/// but what the kernel shows to everybody.
#[must_use]
pub fn after_its_program(gpio_chip: &Path) -> AfterItsProgram {
    looked_up(Path::new(SYSFS), gpio_chip)
}

fn looked_up(sysfs: &Path, gpio_chip: &Path) -> AfterItsProgram {
    let known = driver_of(sysfs, gpio_chip)
        .and_then(|name| DRIVERS.into_iter().find(|driver| name == Path::new(driver.name)));
    known.map_or(AfterItsProgram::NotKnown, |driver| {
        let parameter = fs::read_to_string(sysfs.join(driver.parameter)).ok();
        judged(driver, parameter.as_deref())
    })
}

/// The name of the driver behind a chip: that of the device whose child it is.
fn driver_of(sysfs: &Path, gpio_chip: &Path) -> Option<PathBuf> {
    // A name such as `/dev/gpiochip4` may stand for another.
    let chip = gpio_chip.canonicalize().ok()?;
    let shown = sysfs.join("bus/gpio/devices").join(chip.file_name()?).canonicalize().ok()?;
    let driver = shown.parent()?.join("driver").canonicalize().ok()?;
    driver.file_name().map(PathBuf::from)
}

/// A truth value is shown as `Y` or `N` (Linux, `kernel/params.c`, `param_get_bool`).
fn judged(driver: Driver, parameter: Option<&str>) -> AfterItsProgram {
    match parameter.map(str::trim_end) {
        Some("Y") => AfterItsProgram::Stays { cure: driver.cure },
        Some("N") => AfterItsProgram::IsLetGo,
        Some(_) | None => AfterItsProgram::NotKnown,
    }
}

#[cfg(test)]
mod tests {
    use std::os::unix::fs::symlink;

    use super::*;

    /// What a kernel shows of a chip: it is a child of the device that a driver drives, and is listed by
    /// a link to it.
    fn shown(driver: &str) -> (tempfile::TempDir, PathBuf) {
        let folder = tempfile::tempdir().expect("a folder");
        let sysfs = folder.path();
        let device = sysfs.join("devices/platform/soc/fe200000.gpio");
        for path in
            [device.join("gpiochip0"), sysfs.join("bus/gpio/devices"), sysfs.join("drivers").join(driver)]
        {
            fs::create_dir_all(path).expect("a folder");
        }
        symlink(device.join("gpiochip0"), sysfs.join("bus/gpio/devices/gpiochip0")).expect("a link");
        symlink(sysfs.join("drivers").join(driver), device.join("driver")).expect("a link");
        let chip = sysfs.join("gpiochip0");
        fs::write(&chip, "").expect("a device");
        (folder, chip)
    }

    fn set(sysfs: &Path, driver: Driver, value: &str) {
        let parameter = sysfs.join(driver.parameter);
        fs::create_dir_all(parameter.parent().expect("a folder")).expect("a folder");
        fs::write(parameter, value).expect("a parameter");
    }

    #[test]
    fn sr_32_a_driver_says_yes_or_no_and_anything_else_is_not_known() {
        for driver in DRIVERS {
            let stays = AfterItsProgram::Stays { cure: driver.cure };
            assert_eq!([Some("Y\n"), Some("Y")].map(|said| judged(driver, said)), [stays; 2]);
            assert_eq!(judged(driver, Some("N\n")), AfterItsProgram::IsLetGo);
            for strange in [None, Some(""), Some("\n"), Some("y"), Some("1"), Some("YN")] {
                assert_eq!(judged(driver, strange), AfterItsProgram::NotKnown, "{strange:?}");
            }
        }
    }

    /// The words of the board maker's manual (`raspberrypi/documentation`, on `libgpiod`) and, by pull request
    /// 6150, those of the newer driver.
    #[test]
    fn sr_32_the_cure_names_the_parameter_that_was_read() {
        assert_eq!(BCM2835.cure, "pinctrl_bcm2835.persist_gpio_outputs=n");
        for Driver { parameter, cure, .. } in DRIVERS {
            let named = parameter.replace("module/", "").replace("/parameters/", ".");
            assert_eq!(cure, named + "=n");
        }
    }

    #[test]
    fn sr_32_of_each_chip_its_own_drivers_parameter_is_read() {
        for (driver, other) in [(BCM2835, RP1), (RP1, BCM2835)] {
            let (folder, chip) = shown(driver.name);
            let sysfs = folder.path();
            set(sysfs, other, "Y\n");
            assert_eq!(looked_up(sysfs, &chip), AfterItsProgram::NotKnown, "an older kernel");
            set(sysfs, driver, "N\n");
            assert_eq!(looked_up(sysfs, &chip), AfterItsProgram::IsLetGo);
            set(sysfs, driver, "Y\n");
            assert_eq!(looked_up(sysfs, &chip), AfterItsProgram::Stays { cure: driver.cure });
            let by_another_name = sysfs.join("gpiochip4");
            symlink(&chip, &by_another_name).expect("a link");
            assert_eq!(looked_up(sysfs, &by_another_name), AfterItsProgram::Stays { cure: driver.cure });
        }
    }

    #[test]
    fn sr_32_a_chip_of_another_driver_or_none_at_all_is_not_known() {
        let (folder, chip) = shown("gpio-mockup");
        let sysfs = folder.path();
        set(sysfs, BCM2835, "Y\n");
        assert_eq!(looked_up(sysfs, &chip), AfterItsProgram::NotKnown);
        assert_eq!(looked_up(sysfs, &sysfs.join("none")), AfterItsProgram::NotKnown);
        let unlisted = sysfs.join("gpiochip7");
        fs::write(&unlisted, "").expect("a device");
        assert_eq!(looked_up(sysfs, &unlisted), AfterItsProgram::NotKnown);
        assert_eq!(after_its_program(&unlisted), AfterItsProgram::NotKnown);
    }
}
