//! What the daemon sends the warden, as bytes.
//!
//! ```text
//! 0..4    "SGRB"
//! 4       version, 1
//! 5       kind: 1 arm, 2 beat
//! 6       permission: 0 refused, 1 granted
//! 7       0
//! 8..12   sequence
//! 12..28  the stages' counters: read, decided, acted, recorded
//! 28..32  CRC-32 of all before
//! ```
//! An arming carries no permission, and zeros for its numbers.

use crate::beat::{Beat, Permission, Stages};
use crate::seal::{self, Garbled};

/// The length of every message to the warden.
pub const FRAME_BYTES: usize = 32;

const MAGIC: [u8; 4] = *b"SGRB";
const VERSION: u8 = 1;
const ARM: u8 = 1;
const BEAT: u8 = 2;

/// A message to the warden.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Frame {
    /// A deliberate arming.
    Arm,
    /// A beat.
    Beat(Beat),
}

impl Frame {
    /// As it goes over the line.
    #[must_use]
    pub fn to_bytes(self) -> [u8; FRAME_BYTES] {
        let (kind, beat) = match self {
            Self::Arm => (ARM, Beat::default()),
            Self::Beat(beat) => (BEAT, beat),
        };
        let permission = match beat.permission {
            Permission::Refused => 0,
            Permission::Granted => 1,
        };
        let Stages { read, decided, acted, recorded } = beat.stages;
        let numbers = [beat.sequence, read, decided, acted, recorded];
        let head = MAGIC.into_iter().chain([VERSION, kind, permission, 0]);
        seal::seal(head.chain(numbers.into_iter().flat_map(u32::to_le_bytes)))
    }

    /// As it came from the line.
    pub fn from_bytes(bytes: &[u8; FRAME_BYTES]) -> Result<Self, Garbled> {
        let mut body = seal::open(bytes)?;
        if body.bytes()? != MAGIC {
            return Err(Garbled);
        }
        let head = body.bytes()?;
        let sequence = body.number()?;
        let stages = Stages {
            read: body.number()?,
            decided: body.number()?,
            acted: body.number()?,
            recorded: body.number()?,
        };
        let beat = |permission| Beat { sequence, permission, stages };
        match head {
            [VERSION, ARM, 0, 0] if beat(Permission::Refused) == Beat::default() => Ok(Self::Arm),
            [VERSION, BEAT, 0, 0] => Ok(Self::Beat(beat(Permission::Refused))),
            [VERSION, BEAT, 1, 0] => Ok(Self::Beat(beat(Permission::Granted))),
            [_, _, _, _] => Err(Garbled),
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const GRANTED: Frame = Frame::Beat(Beat {
        sequence: 0x0102_0304,
        permission: Permission::Granted,
        stages: Stages { read: 5, decided: 6, acted: 7, recorded: 8 },
    });

    #[test]
    fn a_beat_is_laid_out_as_the_table_says() {
        let bytes = GRANTED.to_bytes();
        assert_eq!(bytes[..12], *b"SGRB\x01\x02\x01\x00\x04\x03\x02\x01");
        assert_eq!(bytes[12..28], [5, 0, 0, 0, 6, 0, 0, 0, 7, 0, 0, 0, 8, 0, 0, 0]);
        // The checksum by another program's CRC-32 (Python's zlib) of the 28 bytes before.
        assert_eq!(bytes[28..], 0x9A36_8763_u32.to_le_bytes());
    }

    #[test]
    fn sr_30_a_frame_with_any_one_bit_wrong_is_garbled() {
        for frame in [GRANTED, Frame::Arm] {
            for bit in 0..FRAME_BYTES * 8 {
                let mut bytes = frame.to_bytes();
                bytes[bit / 8] ^= 1 << (bit % 8);
                assert_eq!(Frame::from_bytes(&bytes), Err(Garbled), "{frame:?}, bit {bit}");
            }
        }
    }

    #[test]
    fn sr_30_a_whole_frame_of_another_kind_or_version_is_garbled() {
        for head in [[2, 2, 1, 0], [1, 3, 1, 0], [1, 2, 2, 0], [1, 2, 1, 1], [1, 1, 1, 0], [1, 1, 0, 0]] {
            let body = MAGIC.into_iter().chain(head).chain([9; 20]);
            assert_eq!(Frame::from_bytes(&seal::seal(body)), Err(Garbled), "{head:?}");
        }
        let body = (*b"SGRA").into_iter().chain([1, 2, 1, 0]).chain([9; 20]);
        assert_eq!(Frame::from_bytes(&seal::seal(body)), Err(Garbled));
    }

    proptest! {
        #[test]
        fn every_frame_comes_back_as_it_was_sent(
            sequence: u32, grants: bool, read: u32, decided: u32, acted: u32, recorded: u32
        ) {
            let permission = if grants { Permission::Granted } else { Permission::Refused };
            let beat = Beat { sequence, permission, stages: Stages { read, decided, acted, recorded } };
            for frame in [Frame::Beat(beat), Frame::Arm] {
                prop_assert_eq!(Frame::from_bytes(&frame.to_bytes()), Ok(frame));
            }
        }
    }
}
