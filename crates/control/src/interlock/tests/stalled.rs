//! SR-24: what counts as full power, and of which readings.

use super::*;
use crate::finding::Part;

/// Seconds of full power at a standing temperature until it is told; `unread` are skipped.
fn told_after(mut rig: Rig, unread: core::ops::Range<u32>) -> Option<u32> {
    let span_s = u32::try_from(rig.span.ms() / 1000).unwrap();
    (0..3_600).step_by(usize::try_from(span_s).unwrap()).find(|second| {
        let reading_c = 900.0 + 0.1 * noise(f64::from(*second));
        let result = if unread.contains(second) { Err(SensorFault::NoAnswer) } else { Ok(reading_c) };
        names(&rig.see(result).notices).contains(&Interlock::KilnStalled)
    })
}

fn heated(banks: usize, supply_share: f64) -> Rig {
    let kiln = kiln_with_banks(2, supply_share);
    let interlocks = Interlocks::new(&kiln, None);
    let mut rig = Rig { interlocks, kiln, ..Rig::climbing() };
    rig.banks_on(banks);
    rig
}

#[test]
fn sr_24_full_power_is_what_the_supply_carries_and_half_of_it_is_not() {
    let told = told_after(heated(1, 0.5), 0..0).unwrap();
    assert!((955..=965).contains(&told), "16 min: {told}");
    assert_eq!(told_after(heated(1, 1.0), 0..0), None);
}

#[test]
fn sr_24_the_zone_is_named_where_there_are_several() {
    let part = |rig: &mut Rig, reports: usize| {
        (0..1_200).find_map(|second| {
            let reading = celsius(900.0 + 0.1 * noise(f64::from(second)));
            let cold_junction = celsius(25.0);
            let said = Report::single(Said::Reading { junction: reading, cold_junction }, ChipFaults::NONE);
            let measured = Measured { junction: reading, cold_junction: Some(cold_junction) };
            let judgement = rig.see_said(&[said; 2][..reports], &[Ok(measured); 2][..reports]);
            judgement
                .notices
                .iter()
                .find(|told| told.interlock == Interlock::KilnStalled)
                .map(|told| told.part)
        })
    };
    assert_eq!(part(&mut heated(2, 1.0), 1), Some(None));
    let mut two = heated(2, 1.0);
    two.kiln.probes.push(two.kiln.probes[0]).unwrap();
    two.kiln.banks[1].probe = 1;
    two.banks = [false; BANKS_MOST];
    two.banks[1] = true;
    assert_eq!(part(&mut two, 2), Some(Some(Part::Probe(1))));
}

#[test]
fn sr_24_what_was_given_is_counted_over_steps_of_any_length() {
    let told = told_after(Rig { span: Millis::from_seconds(3), ..heated(2, 1.0) }, 0..0).unwrap();
    assert!((955..=966).contains(&told), "16 min: {told}");
    assert_eq!(told_after(Rig { span: Millis::from_seconds(3), ..heated(1, 1.0) }, 0..0), None);
}

#[test]
fn sr_24_a_kiln_unread_for_a_minute_is_judged_anew_from_then_on() {
    let told = told_after(heated(2, 1.0), 550..680).unwrap();
    assert!(told >= 680 + 900, "{told}");
}
