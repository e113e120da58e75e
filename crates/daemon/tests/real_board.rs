//! What the program does with the file of a real kiln on a computer that is none.

use std::path::Path;
use std::process::{Command, Output};

const RASPBERRY_PI: &str = include_str!("../../../config/kilns/raspberry-pi.toml");

fn serve(folder: &Path, kiln: &str, more: &[&str]) -> Output {
    let file = folder.join("kiln.toml");
    std::fs::write(&file, kiln).expect("a kiln file");
    let mut command = Command::new(env!("CARGO_BIN_EXE_saggar"));
    command.args(["serve", "--listen", "127.0.0.1:0", "--kiln"]).arg(file);
    command.arg("--data").arg(folder.join("data")).args(more).output().expect("it runs")
}

fn linux(chip: &str) -> String {
    RASPBERRY_PI.replace("kind = \"raspberry-pi\"", &format!("kind = \"linux\"\ngpio_chip = \"{chip}\""))
}

fn refused(output: &Output) -> String {
    assert!(!output.status.success(), "{output:?}");
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn a_computer_without_the_kilns_gpio_is_refused_with_what_to_look_at() {
    let folder = tempfile::tempdir().expect("a folder");
    let said = refused(&serve(folder.path(), RASPBERRY_PI, &[]));
    assert!(said.contains("the Raspberry Pi's GPIO cannot be used"), "{said}");
    assert!(said.contains("group gpio"), "{said}");
    let said = refused(&serve(folder.path(), &linux("/dev/gpiochip-none"), &[]));
    assert!(said.contains("/dev/gpiochip-none cannot be used"), "{said}");
    assert!(said.contains("ls -l /dev/gpiochip*"), "{said}");
}

#[test]
fn a_device_that_is_no_gpio_chip_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let said = refused(&serve(folder.path(), &linux("/dev/null"), &[]));
    assert!(said.contains("/dev/null cannot be used"), "{said}");
}

#[test]
fn nothing_lights_or_hurries_a_real_kiln_from_the_command_that_starts_the_program() {
    let folder = tempfile::tempdir().expect("a folder");
    for more in [["--speed", "60"], ["--alight", "schedule.toml"]] {
        let said = refused(&serve(folder.path(), RASPBERRY_PI, &more));
        let wanted = format!("{} is for a simulated kiln alone", more[0]);
        assert!(said.contains(&wanted), "{said}");
        assert!(!folder.path().join("data/pins").exists(), "before anything is touched");
    }
}
