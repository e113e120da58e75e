//! Links the control path without a standard library and without an allocator.
#![no_std]

use core::panic::PanicInfo;

use control::{Controller, Decision, Observation, Setup};
use pyrometry::amplifier::SensorFault;
use pyrometry::units::{Celsius, Millis};
use warden::{FRAME_BYTES, Frame, WORD_BYTES, Warden, Word};

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
pub unsafe extern "C" fn proof_warden(
    warden: *mut Warden,
    frame: *const [u8; FRAME_BYTES],
    at_ms: u64,
    read_c: f64,
    word: *mut [u8; WORD_BYTES],
) {
    let at = Millis::new(at_ms);
    // SAFETY: asked of the caller.
    let (warden, frame) = unsafe { (&mut *warden, &*frame) };
    match Frame::from_bytes(frame) {
        Ok(Frame::Arm) => warden.arm(at),
        Ok(Frame::Beat(beat)) => warden.hear(beat, at),
        Err(warden::Garbled) => warden.lose_trust(warden::Distrust::Garbled),
    }
    warden.read(Celsius::new(read_c).ok_or(SensorFault::OutOfRange), at);
    let said = Word {
        contactor: warden.contactor(at),
        distrust: warden.distrust(),
        limit: warden.limit(at),
        ..Word::default()
    };
    // SAFETY: asked of the caller.
    unsafe { word.write(said.to_bytes()) }
}
