//! An exponential without floating point: a product of prepared ones.

/// exp(-2^i) in 1/2^32, from i = 4 down to -16 (worked out with 50 digits).
const OF_POWER: [u32; 21] = [
    483,
    1_440_801,
    78_665_070,
    581_260_615,
    1_580_030_169,
    2_605_029_347,
    3_344_923_893,
    3_790_295_335,
    4_034_748_382,
    4_162_825_044,
    4_228_380_000,
    4_261_543_595,
    4_278_222_805,
    4_286_586_875,
    4_290_775_039,
    4_292_870_656,
    4_293_918_848,
    4_294_443_040,
    4_294_705_160,
    4_294_836_226,
    4_294_901_760,
];

/// `1 - exp(-x)` of x in 1/2^32, in the same, within 24 of them: each of the 21 products loses at most one, the prepared ones half of one.
#[inline(never)]
pub(super) const fn one_less_exponential_q32(x: u64) -> u64 {
    const ONE: u64 = 1 << 32;
    if x >= 32 * ONE {
        return ONE;
    }
    let mut product = ONE;
    let mut powers: &[u32] = &OF_POWER;
    // 2^4 is bit 36 of x.
    let mut bit = 36;
    while let [power, others @ ..] = powers {
        if x >> bit & 1 == 1 {
            product = (product * *power as u64) >> 32;
        }
        powers = others;
        bit -= 1;
    }
    // Of what is left, under 2^-16, the square is nothing.
    let left = x & 0xffff;
    ONE - (product - ((product * left) >> 32))
}
