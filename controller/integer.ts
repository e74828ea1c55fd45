/**
 * Integer arithmetic within 31 bits (-2^30 .. 2^30-1), the range that small engines keep unboxed.
 * Time wraps under a mask and is compared by difference only. The one `/` of the core is here.
 */

/** Times are kept under this mask: 2^30 - 1 ms, a little over 12 days. */
export const TIME_MASK = 0x3fffffff;

/** The largest and smallest integer of the core. */
export const INT_MAX = 0x3fffffff;
export const INT_MIN = -0x40000000;

/**
 * Quotient rounded down (towards minus infinity).
 * A divisor under 1 is a fault of the caller; the answer is then 0, since a tick never throws.
 */
export function divFloor(dividend: number, divisor: number): number {
  if (!(divisor > 0)) return 0;
  const quotient = (dividend / divisor) | 0;
  return quotient * divisor > dividend ? quotient - 1 : quotient;
}

/** Quotient rounded up; the same rule for the divisor. */
export function divCeil(dividend: number, divisor: number): number {
  return -divFloor(-dividend, divisor);
}

/** Time from `thenMs` to `nowMs`, ms, whatever wrapped in between (0 .. 2^30-1). */
export function sinceMs(nowMs: number, thenMs: number): number {
  return (nowMs - thenMs) & TIME_MASK;
}
