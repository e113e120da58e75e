//! Links the control path without a standard library and without an allocator.
#![no_std]

use core::panic::PanicInfo;

use control::{Controller, Decision, Observation, Setup};
use pyrometry::units::Millis;
use warden::{Beat, Warden};

#[panic_handler]
fn on_panic(_: &PanicInfo<'_>) -> ! {
    loop {}
}

/// Keeps the controller's step in the library.
///
/// # Safety
/// The pointers are valid and aligned.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn proof_step(controller: *mut Controller, observation: *const Observation<'_>, out: *mut Decision) {
    // SAFETY: asked of the caller.
    unsafe { out.write((*controller).step(&*observation)) }
}

/// Keeps the controller's making in the library.
///
/// # Safety
/// The pointers are valid and aligned.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn proof_new(setup: *const Setup, out: *mut Controller) {
    // SAFETY: asked of the caller.
    unsafe { out.write(Controller::new((*setup).clone())) }
}

/// Keeps the warden's judgement in the library.
///
/// # Safety
/// The pointers are valid and aligned.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn proof_warden(warden: *mut Warden, beat: *const Beat, at_ms: u64) -> bool {
    // SAFETY: asked of the caller.
    unsafe {
        (*warden).hear(*beat, Millis::new(at_ms));
        matches!((*warden).contactor(Millis::new(at_ms)), hal::Level::On)
    }
}
