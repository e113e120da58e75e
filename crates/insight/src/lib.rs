//! What firings teach: the kiln model, guessed before the first firing and fitted to each, and the
//! forecast made with it.
//!
//! Here live what is known of a kiln before it ever fired ([`guess`]), what a firing showed of it
//! ([`fit()`]) and what a schedule will do in it ([`forecast`]). What does *not* live here: any decision of a running firing (crate
//! `control`), any file (crate `daemon`).
//!
//! Terms: the *lining* is the wall's brick or fibre; the *hot face* its inner surface; the *load*
//! everything that stands in the chamber, shelves and posts included.

mod chamber;
mod cooled;
mod fire;
mod fit;
mod forecast;
mod guess;
mod lining;

pub use chamber::Chamber;
pub use cooled::cooled;
pub use fit::{Fit, Fitted, NotFitted, Sample, Stretches, as_fitted, fit};
pub use forecast::{
    Arrival, Forecast, Point, SegmentForecast, forecast, forecast_carried, longest_carried, longest_forecast,
    longest_left,
};
pub use guess::{Body, Lining, guess};
