//! Bytes as hexadecimal digits, and back.

use std::fmt::Write as _;

/// Bytes as lower-case hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").expect("writing to a string does not fail");
        text
    })
}

/// Bytes from hexadecimal digits; `None` if they are not so many.
pub fn unhex<const N: usize>(text: &str) -> Option<[u8; N]> {
    let digits = text.as_bytes();
    let mut bytes = [0; N];
    if digits.len() != 2 * N || !digits.iter().all(u8::is_ascii_hexdigit) {
        return None;
    }
    for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
        *byte = u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()?;
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hexadecimal_goes_both_ways() {
        assert_eq!(unhex::<2>(&hex(&[0x0A, 0xFF])), Some([0x0A, 0xFF]));
        for wrong in ["", "0", "0aff0", "zzzz", "+a+f"] {
            assert_eq!(unhex::<2>(wrong), None, "{wrong}");
        }
    }
}
