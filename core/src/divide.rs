//! Division by subtraction: a chip without a divider would need 3 KB of library for it.

/// A quotient rounded down, by long division; 0 where there is none. `divisor` is positive.
// Not copied into its callers, or their speed would cost the flash that is saved.
#[inline(never)]
pub(crate) const fn floored(dividend: i64, divisor: i64) -> i64 {
    if divisor <= 0 {
        return 0;
    }
    let divisor = divisor as u64;
    let (quotient, remainder) = divided(dividend.unsigned_abs(), divisor);
    if dividend >= 0 { quotient as i64 } else { -((quotient + (remainder > 0) as u64) as i64) }
}

const fn divided(dividend: u64, divisor: u64) -> (u64, u64) {
    let (mut quotient, mut remainder) = (0, 0);
    let mut bit = 64 - dividend.leading_zeros();
    while bit > 0 {
        bit -= 1;
        remainder = remainder << 1 | (dividend >> bit) & 1;
        quotient <<= 1;
        if remainder >= divisor {
            remainder -= divisor;
            quotient |= 1;
        }
    }
    (quotient, remainder)
}

/// `whole part / of`, rounded to the nearest, and up where two are as near. `part` is less than `of`, which is under 2^30: no product wider
/// than 32 bits is needed.
#[inline(never)]
pub(crate) const fn share(whole: i32, part: u32, of: u32) -> i32 {
    let (mut quotient, mut remainder) = (0u32, 0u32);
    let mut left = whole.unsigned_abs();
    let mut bits = 32 - left.leading_zeros();
    left = left.wrapping_shl(32 - bits);
    while bits > 0 {
        bits -= 1;
        // At most 3 (of - 1).
        remainder <<= 1;
        if left >> 31 != 0 {
            remainder += part;
        }
        left <<= 1;
        quotient <<= 1;
        if remainder >= of {
            remainder -= of;
            quotient += 1;
        }
        if remainder >= of {
            remainder -= of;
            quotient += 1;
        }
    }
    let beyond_half = of - remainder < remainder || (of - remainder == remainder && whole > 0);
    let size = quotient.wrapping_add(beyond_half as u32) as i32;
    if whole < 0 { -size } else { size }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_division_is_the_machines() {
        let values =
            [0, 1, 2, 3, 7, 720, 65_535, 65_536, 1_000_000_007, 1 << 31, (1 << 40) + 1, i64::MAX / 3, i64::MAX];
        for dividend in values.into_iter().flat_map(|value| [value, -value]) {
            for divisor in values.into_iter().skip(1) {
                assert_eq!(floored(dividend, divisor), dividend.div_euclid(divisor), "{dividend} / {divisor}");
            }
        }
        assert_eq!(floored(5, 0), 0);
    }

    #[test]
    fn a_share_is_that_of_wide_products() {
        let mut state = 0x1234_5678_u64;
        let mut next = |below: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (state >> 33) % below
        };
        for _ in 0..200_000 {
            let size = 1 << next(30);
            let of = 1 + next(size) as u32;
            let part = next(u64::from(of)) as u32;
            let whole = (next(1 << 31) >> next(31)) as i32 * if next(2) == 0 { 1 } else { -1 };
            let twice = 2 * i128::from(whole) * i128::from(part) + i128::from(of);
            let expected = twice.div_euclid(2 * i128::from(of));
            assert_eq!(i128::from(share(whole, part, of)), expected, "{whole} {part} / {of}");
        }
    }
}
