//! Checks of the source itself: size, direction of dependencies, absences the architecture
//! promises, and the table of requirements and tests.

mod absences;
mod direction;
mod pages;
mod requirements;
mod size;
mod suffixes;
