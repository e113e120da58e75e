//! The order of closing: the safety contactor first, then banks; each time seen on its mirror contact.
//!
//! Before heat is permitted the contactor must be seen open, and before any bank closes it must be
//! seen closed. So each light-up proves that it opens and closes, and no bank makes or breaks the
//! contactor's current: what a bank switches, its own relay switches. What becomes of a contactor
//! that does not follow is for the interlocks (`interlock::not_following`).

use crate::observation::Contact;

/// What has been seen of the contactor since heat was last permitted.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Contactor {
    /// Whether the step before permitted heat.
    pub(crate) permitted: bool,
    seen_open: bool,
    now: Contact,
}

impl Contactor {
    /// Takes the mirror contact of this step.
    pub(crate) fn see(&mut self, now: Contact) {
        self.now = now;
        if now == Contact::Open {
            self.seen_open = true;
        }
    }

    /// Whether heat may be permitted as far as it goes; where nothing is fitted nothing is known.
    pub(crate) const fn may_close(self) -> bool {
        match self.now {
            Contact::NotFitted => true,
            Contact::Shut | Contact::Open | Contact::Unreadable => self.permitted || self.seen_open,
        }
    }

    /// Whether a bank may be energised behind it.
    pub(crate) const fn carries(self) -> bool {
        match self.now {
            Contact::NotFitted => true,
            Contact::Shut => self.permitted,
            Contact::Open | Contact::Unreadable => false,
        }
    }

    /// Takes what this step decided.
    pub(crate) fn permit(&mut self, permission: bool) {
        if !permission {
            self.seen_open = false;
        }
        self.permitted = permission;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(steps: &[(Contact, bool)]) -> Contactor {
        let mut contactor = Contactor::default();
        for (contact, permission) in steps {
            contactor.see(*contact);
            contactor.permit(*permission);
        }
        contactor
    }

    #[test]
    fn it_may_close_only_once_it_was_seen_open_and_carries_only_once_it_was_seen_closed() {
        let mut contactor = after(&[]);
        contactor.see(Contact::Shut);
        assert!(!contactor.may_close(), "never seen open");
        contactor.see(Contact::Open);
        assert!(contactor.may_close() && !contactor.carries());
        contactor.permit(true);
        contactor.see(Contact::Unreadable);
        assert!(contactor.may_close() && !contactor.carries());
        contactor.see(Contact::Shut);
        assert!(contactor.may_close() && contactor.carries());
    }

    #[test]
    fn heat_that_was_taken_away_asks_for_the_same_proof_anew() {
        let mut contactor = after(&[(Contact::Open, true), (Contact::Shut, true), (Contact::Shut, false)]);
        contactor.see(Contact::Shut);
        assert!(!contactor.may_close() && !contactor.carries());
        contactor.see(Contact::Open);
        assert!(contactor.may_close());
        contactor.permit(false);
        contactor.see(Contact::Shut);
        assert!(!contactor.may_close(), "it closed since, unasked");
    }

    #[test]
    fn where_no_mirror_contact_is_fitted_nothing_is_waited_for() {
        let contactor = after(&[(Contact::NotFitted, false)]);
        assert!(contactor.may_close() && contactor.carries());
    }
}
