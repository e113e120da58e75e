//! What makes bytes a message: a beginning that is known and a checksum that fits.
//!
//! Numbers are little-endian. The last four bytes are the CRC-32 of all before them.

/// What arrived is no whole message of this version.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Garbled;

/// The CRC-32 of ISO-HDLC (ITU-T V.42, 8.1.1.6.2), bit by bit: 28 bytes need no table.
fn crc_32(bytes: impl Iterator<Item = u8>) -> u32 {
    /// V.42's generator polynomial with its bits reversed, as bytes go out least bit first.
    const GENERATOR: u32 = 0xEDB8_8320;
    let mut rest = u32::MAX;
    for byte in bytes {
        rest ^= u32::from(byte);
        for _ in 0..u8::BITS {
            rest = if rest & 1 == 1 { (rest >> 1) ^ GENERATOR } else { rest >> 1 };
        }
    }
    !rest
}

/// Adds the checksum. The body is four bytes shorter than the message.
pub(crate) fn seal<const N: usize>(body: impl Iterator<Item = u8> + Clone) -> [u8; N] {
    let mut message = [0; N];
    let sum = crc_32(body.clone()).to_le_bytes();
    for (place, byte) in message.iter_mut().zip(body.chain(sum)) {
        *place = byte;
    }
    message
}

/// Checks the checksum; gives the body, to be read number by number.
pub(crate) fn open<const N: usize>(message: &[u8; N]) -> Result<Body<'_>, Garbled> {
    let (body, sum) = message.split_last_chunk::<4>().ok_or(Garbled)?;
    if crc_32(body.iter().copied()) == u32::from_le_bytes(*sum) { Ok(Body(body)) } else { Err(Garbled) }
}

/// What is left to read of a message.
pub(crate) struct Body<'a>(&'a [u8]);

impl Body<'_> {
    pub(crate) fn bytes(&mut self) -> Result<[u8; 4], Garbled> {
        let (next, rest) = self.0.split_first_chunk::<4>().ok_or(Garbled)?;
        self.0 = rest;
        Ok(*next)
    }

    pub(crate) fn number(&mut self) -> Result<u32, Garbled> {
        self.bytes().map(u32::from_le_bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_checksum_gives_the_published_check_value() {
        // CRC-32/ISO-HDLC of "123456789" in the catalogue of parametrised CRC algorithms (G. Cook).
        assert_eq!(crc_32(b"123456789".iter().copied()), 0xCBF4_3926);
    }
}
