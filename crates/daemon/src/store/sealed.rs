//! A line and below it its CRC-32, so that a file cut short or with a flipped bit is noticed.

/// A line with its checksum.
pub(crate) fn seal(line: &str) -> String {
    format!("{line}\n{:08x}\n", checksum(line))
}

/// The line, where its checksum is right; what is wrong in words where not.
pub(crate) fn unseal(text: &str) -> Result<&str, String> {
    let mut lines = text.lines();
    let (Some(line), Some(sum), None) = (lines.next(), lines.next(), lines.next()) else {
        return Err("it is cut short or has lines too many".to_owned());
    };
    if u32::from_str_radix(sum, 16) != Ok(checksum(line)) {
        return Err("its checksum is wrong".to_owned());
    }
    Ok(line)
}

fn checksum(line: &str) -> u32 {
    let mut crc = flate2::Crc::new();
    crc.update(line.as_bytes());
    crc.sum()
}
