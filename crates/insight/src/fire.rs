//! The kiln while it is fired: chamber, load and lining, one step at a time.

use control::Kiln;
use pyrometry::units::between;

use crate::lining::Slab;

/// What is asked of the elements in one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Wish {
    /// As much as brings the chamber to this temperature, °C.
    Reach(f64),
    /// Nothing.
    Off,
}

/// Everything in the chamber is taken to have one temperature; the forecast asks for hours and
/// degrees, not for the load's lag.
#[derive(Clone)]
pub(crate) struct Fire {
    pub(crate) chamber_c: f64,
    room_c: f64,
    slab: Slab,
    chamber_j_per_k: f64,
    leak_w_per_k: f64,
    power_most_w: f64,
}

impl Fire {
    /// A kiln found at a temperature, in a room that is not warmer.
    pub(crate) fn found_at(kiln: &Kiln, start_c: f64) -> Self {
        const ROOM_C: f64 = 20.0; // taken when the kiln itself does not say that it is colder
        Self::found_in(kiln, start_c, if start_c < ROOM_C { start_c } else { ROOM_C })
    }

    /// The same in a room of that temperature.
    pub(crate) fn found_in(kiln: &Kiln, start_c: f64, room_c: f64) -> Self {
        let parameters = kiln.model.parameters();
        Self {
            chamber_c: start_c,
            room_c,
            slab: Slab::found_at(&kiln.model, start_c, room_c),
            chamber_j_per_k: parameters.ware_j_per_k + parameters.quick_j_per_k,
            leak_w_per_k: parameters.leak_w_per_k,
            power_most_w: kiln.carried().w() * parameters.power_ratio,
        }
    }

    /// Lets a step pass; gives the duty that it took.
    pub(crate) fn advance(&mut self, wish: Wish, step_s: f64) -> f64 {
        let step = self.slab.step(self.chamber_c, step_s);
        let (fixed_w, slab_w_per_k) = step.uptake();
        // The balance of the step's end: power = gain · chamber + rest.
        let storage_w_per_k = self.chamber_j_per_k / step_s;
        let gain_w_per_k = storage_w_per_k + slab_w_per_k + self.leak_w_per_k;
        let rest_w = fixed_w - storage_w_per_k * self.chamber_c - self.leak_w_per_k * self.room_c;
        let wanted_w = match wish {
            Wish::Reach(chamber_c) => gain_w_per_k * chamber_c + rest_w,
            Wish::Off => 0.0,
        };
        let power_w = between(wanted_w, 0.0, self.power_most_w);
        self.chamber_c = (power_w - rest_w) / gain_w_per_k;
        self.slab.take(&step, self.chamber_c);
        if self.power_most_w > 0.0 { power_w / self.power_most_w } else { 0.0 }
    }

    /// How fast it would fall now without heat, °C/h.
    pub(crate) fn falls_c_per_h(&self) -> f64 {
        const SPAN_S: f64 = 60.0; // short against what brick takes to cool through
        let mut off = self.clone();
        let _duty = off.advance(Wish::Off, SPAN_S);
        (self.chamber_c - off.chamber_c) * 3600.0 / SPAN_S
    }

    /// Energy of a step at a duty, J.
    pub(crate) fn energy_j(&self, duty: f64, step_s: f64) -> f64 {
        duty * self.power_most_w * step_s
    }
}
