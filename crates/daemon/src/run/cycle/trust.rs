//! What the warden's own word tells of the contactor, where no mirror contact does (SR-30).

use control::Contact;
use warden::{Distrust, Permission};

use crate::run::guard::Standing;

/// Whether the warden, once armed, followed the beats that permit heat.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Trust {
    permitted: bool,
    followed: bool,
}

impl Trust {
    /// Takes a beat and how the warden stands to it.
    pub(super) fn follow(&mut self, permission: Permission, standing: Standing) {
        self.permitted = permission == Permission::Granted;
        self.followed = match (permission, standing) {
            (Permission::Refused, _) => false,
            (Permission::Granted, Standing::Trusts) => true,
            (Permission::Granted, Standing::Distrusts(_) | Standing::Lost(_)) => self.followed,
        };
    }

    /// What is known of the contactor: what its mirror contact says, and without one that it is open
    /// while the warden, having followed, keeps it so. A firing must not go on without heat for long
    /// before anybody notices. One that has yet to answer an arming tells nothing, but what its limit
    /// probe objects to is told from the first beat on that permits heat (SR-37).
    pub(super) const fn contactor(self, mirror: Contact, standing: Standing) -> Contact {
        match (mirror, standing) {
            (Contact::NotFitted, Standing::Distrusts(Distrust::AboveLimit | Distrust::LimitBlind))
                if self.permitted =>
            {
                Contact::Open
            }
            (Contact::NotFitted, Standing::Distrusts(_)) if self.followed => Contact::Open,
            (Contact::NotFitted | Contact::Shut | Contact::Open | Contact::Unreadable, _) => mirror,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SILENCE: Standing = Standing::Distrusts(Distrust::Silence);

    #[test]
    fn sr_30_a_warden_that_followed_and_opened_tells_of_an_open_contactor_and_one_yet_to_be_armed_does_not() {
        let mut trust = Trust::default();
        trust.follow(Permission::Granted, Standing::Distrusts(Distrust::NotArmed));
        assert_eq!(trust.contactor(Contact::NotFitted, SILENCE), Contact::NotFitted);
        trust.follow(Permission::Granted, Standing::Trusts);
        assert_eq!(trust.contactor(Contact::NotFitted, Standing::Trusts), Contact::NotFitted);
        trust.follow(Permission::Granted, SILENCE);
        assert_eq!(trust.contactor(Contact::NotFitted, SILENCE), Contact::Open);
        assert_eq!(trust.contactor(Contact::Shut, SILENCE), Contact::Shut, "the mirror contact knows");
        trust.follow(Permission::Refused, SILENCE);
        assert_eq!(trust.contactor(Contact::NotFitted, SILENCE), Contact::NotFitted, "none is asked for");
    }

    #[test]
    fn sr_37_what_the_limit_probe_objects_to_tells_of_an_open_contactor_as_soon_as_heat_is_permitted() {
        for why in [Distrust::AboveLimit, Distrust::LimitBlind] {
            let standing = Standing::Distrusts(why);
            let mut trust = Trust::default();
            trust.follow(Permission::Refused, standing);
            assert_eq!(
                trust.contactor(Contact::NotFitted, standing),
                Contact::NotFitted,
                "none is asked for"
            );
            trust.follow(Permission::Granted, standing);
            assert_eq!(trust.contactor(Contact::NotFitted, standing), Contact::Open);
            assert_eq!(trust.contactor(Contact::NotFitted, SILENCE), Contact::NotFitted);
            assert_eq!(trust.contactor(Contact::Shut, standing), Contact::Shut, "the mirror contact knows");
        }
    }
}
