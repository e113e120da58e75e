//! Pins that kept their level after whoever drove them had died.

use std::sync::Arc;

use hal::Level;
use hal::pins::{Pin, Pins};

/// What a start found energised, by name (SR-32).
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeptPins(Arc<[String]>);

impl KeptPins {
    /// Looks at the banks' pins before they are driven off; the contactor's was the warden's to find.
    #[must_use]
    pub fn found(pins: &mut dyn Pins, contactor: Level, banks: &[String]) -> Self {
        let contactor = (contactor == Level::On).then(|| "the contactor".to_owned());
        let on = (0..).zip(banks).filter(|(bank, _)| pins.level(Pin::Bank(*bank)) == Ok(Level::On));
        Self(contactor.into_iter().chain(on.map(|(_, name)| format!("bank \"{name}\""))).collect())
    }

    /// Their names; none after an end in good order.
    #[must_use]
    pub fn names(&self) -> &[String] {
        &self.0
    }
}
