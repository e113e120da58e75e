//! Where a zone's heat is: in its elements, its ware, its lining.

use pyrometry::units::{Celsius, Duty, Millis, Watts};

use super::{Elements, ROOM_C, Wall, Ware};
use crate::model::KilnModel;

/// Above this a kiln at light-up has been fired, not stood in the sun.
const FOUND_HOT: Celsius = pyrometry::constant!(Celsius, 60.0);

/// Elements, ware and lining of a zone, followed from readings and duties alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stores {
    pub(crate) elements: Elements,
    pub(crate) ware: Ware,
    pub(crate) wall: Wall,
    /// The zone's share of the kiln.
    pub(crate) share: f64,
    leak_w_per_k: f64,
}

/// Heat flowing at one instant, W.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Flows {
    /// From the elements into the chamber.
    pub given_w: f64,
    /// Into the lining; negative when it gives heat back.
    pub lining_w: f64,
    /// Into ware and furniture.
    pub ware_w: f64,
    /// Out through gaps, vents and leads.
    pub leak_w: f64,
}

impl Stores {
    /// The stores of a zone that has this share of the kiln and these banks' power, as a kiln standing
    /// at a temperature has them.
    #[must_use]
    pub fn found(model: &KilnModel, share: f64, power: Watts, standing_at: Celsius) -> Self {
        let wall = if standing_at > FOUND_HOT {
            Wall::found_hot(model, standing_at)
        } else {
            Wall::at_rest(model, standing_at)
        };
        Self {
            elements: Elements::at_rest(model, power, share, standing_at.c()),
            ware: Ware::at_rest(model, share, standing_at),
            wall,
            share,
            leak_w_per_k: share * model.parameters().leak_w_per_k,
        }
    }

    /// Lets time pass with the chamber at a temperature and the elements at a duty; gives the flows at
    /// its end, that into the lining as a mean.
    pub fn follow(&mut self, chamber: Celsius, given: Duty, span: Millis) -> Flows {
        self.elements.step(given, chamber.c(), span);
        Flows {
            given_w: self.elements.gives_w(chamber.c()),
            lining_w: self.share * self.wall.step(chamber, span).w(),
            ware_w: self.ware.step(chamber.c(), span),
            leak_w: self.leaks_w(chamber.c()),
        }
    }

    /// Lets time pass with the chamber at a temperature; gives all that leaves it, with the ware so many
    /// times what the model says, W.
    pub(crate) fn take_w(&mut self, chamber_c: f64, load_ratio: f64, span: Millis) -> f64 {
        let lining_w = Celsius::new(chamber_c).map_or(0.0, |face| self.wall.step(face, span).w());
        load_ratio * self.ware.step(chamber_c, span) + self.share * lining_w + self.leaks_w(chamber_c)
    }

    /// Heat that leaks out of a chamber at a temperature, W.
    pub(crate) fn leaks_w(&self, chamber_c: f64) -> f64 {
        self.leak_w_per_k * (chamber_c - ROOM_C)
    }
}
