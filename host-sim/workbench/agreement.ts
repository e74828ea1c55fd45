/**
 * What a controller did against what the host's core makes of the same readings: how long the two gave the
 * same reason, and where they first differ. Two runs over one trace in, ms out. Looks lie some ticks
 * apart, so a reason that comes a look later is no difference.
 */
import type { Run, Span } from '../replay/run.js';

/** Two looks of the link, with room for a busy line. */
const TOLERANCE_MS = 300;

export interface Agreement {
  /** Share of the time with the same reason, 0 to 1, delays within the tolerance left out. */
  readonly share: number;
  /** The first that lasts: when, and both reasons. */
  readonly first:
    { readonly atMs: number; readonly device: string; readonly host: string } | undefined;
}

/** Compares reasons over the length that both have. */
export function agreementOf(device: Run, host: Run): Agreement {
  const endMs = Math.min(device.ticks, host.ticks) * 20;
  let [differsMs, first]: [number, Agreement['first']] = [0, undefined];
  for (const piece of pieces(device.spans, host.spans, endMs)) {
    if (piece.device === piece.host || isDelay(piece, device.spans, host.spans)) continue;
    differsMs += piece.toMs - piece.fromMs;
    first ??= { atMs: piece.fromMs, device: piece.device, host: piece.host };
  }
  return { share: endMs === 0 ? 1 : 1 - differsMs / endMs, first };
}

interface Piece {
  readonly fromMs: number;
  readonly toMs: number;
  readonly device: string;
  readonly host: string;
}

/** Stretches in which neither changes its reason. */
function* pieces(one: readonly Span[], other: readonly Span[], endMs: number): Generator<Piece> {
  let [at, otherAt, fromMs] = [0, 0, 0];
  while (fromMs < endMs && at < one.length && otherAt < other.length) {
    const toMs = Math.min(one[at].toMs, other[otherAt].toMs, endMs);
    if (toMs > fromMs) {
      yield { fromMs, toMs, device: one[at].reason, host: other[otherAt].reason };
    }
    if (one[at].toMs <= toMs) at += 1;
    if (otherAt < other.length && other[otherAt].toMs <= toMs) otherAt += 1;
    fromMs = toMs;
  }
}

/** Short, and each had the other's reason a moment before or after. */
function isDelay(
  { fromMs, toMs, device, host }: Piece,
  one: readonly Span[],
  other: readonly Span[],
): boolean {
  if (toMs - fromMs > TOLERANCE_MS) return false;
  const hasNear = (spans: readonly Span[], reason: string) =>
    spans.some(
      (span) =>
        span.reason === reason &&
        span.toMs >= fromMs - TOLERANCE_MS &&
        span.fromMs <= toMs + TOLERANCE_MS,
    );
  return hasNear(one, host) && hasNear(other, device);
}
