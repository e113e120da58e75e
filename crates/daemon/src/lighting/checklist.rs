//! SR-46: what a person is asked before a light-up: never what is sensed, and never more than five things;
//! and, for each thermocouple that is of another type than before, that this is meant.

use hal::Sensed;

use super::parts::Changes;
use crate::files::kiln::{KilnFile, Presence};
use crate::web::Check;

/// Everything a light-up of this kiln asks.
#[must_use]
pub fn checklist(kiln: &KilnFile, changes: &Changes) -> Vec<Check> {
    let lid = if kiln.senses(Sensed::Lid) {
        ("vent-set", "The vent is as this firing needs it")
    } else {
        ("lid-shut", "Lid or door is shut, and the vent is as this firing needs it")
    };
    let within_call = match kiln.presence {
        Presence::Checklist => {
            "I stand at the kiln now, and somebody stays within call while it fires, as your local rules ask"
        }
        Presence::Button | Presence::NotAsked => {
            "Somebody stays within call while it fires, as your local rules ask"
        }
    };
    let usual = [
        ("cones-placed", "Witness cones are in place, where you can see them"),
        ("load-clear", "Nothing touches elements or thermocouple, and shelves stand firm"),
        lid,
        ("nothing-burns", "Nothing that burns is near the kiln, and the room is aired"),
        ("within-call", within_call),
    ];
    let usual = usual.into_iter().map(|(id, text)| Check { id: id.to_owned(), text: text.to_owned() });
    let types = changes.types.iter().map(|changed| Check {
        id: format!("type-changed-{}", changed.number),
        text: format!(
            "The thermocouple \"{}\" really is of type {now} and no longer of type {before}: it is printed on \
             it, and the leads are of type {now}",
            changed.probe,
            now = changed.now,
            before = changed.before,
        ),
    });
    usual.chain(types).collect()
}

/// What of it is not among the confirmed.
#[must_use]
pub fn missing(checklist: &[Check], confirmed: &[String]) -> Vec<String> {
    let ids = checklist.iter().map(|check| &check.id);
    ids.filter(|id| !confirmed.contains(id)).cloned().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lighting::parts::TypeChanged;

    fn asked(kiln_file: &str, types: Vec<TypeChanged>) -> Vec<Check> {
        let source = crate::files::Source::new("kiln.toml", kiln_file);
        let kiln = crate::files::kiln::check(source).expect("a kiln").value;
        checklist(&kiln, &Changes { types, ..Changes::default() })
    }

    const PLAIN: &str = crate::files::kiln::SIMULATED;

    #[test]
    fn what_is_sensed_is_not_asked_and_where_no_button_shows_presence_the_checklist_asks_it() {
        let plain = asked(PLAIN, Vec::new());
        assert_eq!(plain.len(), 5);
        assert!(plain[4].text.contains("I stand at the kiln now"));
        let sensed = asked(
            &format!("{PLAIN}\n[[contact]]\nsenses = \"lid\"\n[[contact]]\nsenses = \"presence button\"\n"),
            Vec::new(),
        );
        assert_eq!(sensed.len(), 5);
        assert!(sensed.iter().all(|check| !check.text.contains("shut") && !check.text.contains("I stand")));
    }

    #[test]
    fn sr_10_a_changed_type_asks_a_question_of_its_own_which_is_missed_when_it_is_not_confirmed() {
        let changed = TypeChanged {
            number: 1,
            probe: "middle".to_owned(),
            before: "K".to_owned(),
            now: "N".to_owned(),
        };
        let checks = asked(PLAIN, vec![changed]);
        assert!(checks[5].text.contains("really is of type N and no longer of type K"), "{}", checks[5].text);
        let usual: Vec<String> = checks[..5].iter().map(|check| check.id.clone()).collect();
        assert_eq!(missing(&checks, &usual), ["type-changed-1"]);
        assert_eq!(missing(&checks[..5], &usual), [""; 0]);
    }
}
