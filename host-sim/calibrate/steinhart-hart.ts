/**
 * The Steinhart-Hart equation of a thermistor, 1/T = A + B ln R + C (ln R)^3, from three points or more
 * (Steinhart and Hart 1968, Deep-Sea Research 15, 497-503). Resistances in ohm, temperatures in degC.
 * Three points are met exactly; of more, the sum of the squared errors in temperature is the least.
 */

const ZERO_K = 273.15;

export interface SteinhartHart {
  readonly a: number;
  readonly b: number;
  readonly c: number;
}

/** A thermistor's resistance at a temperature. */
export interface ResistancePoint {
  readonly degC: number;
  readonly ohm: number;
}

/** The curve through or nearest to at least three points with different resistances. */
export function fitSteinhartHart(points: readonly ResistancePoint[]): SteinhartHart {
  // A small error of 1/T is T^2 times it in T: each row is weighted with T^2.
  const rows = points.map(({ degC, ohm }) => {
    const kelvin = degC + ZERO_K;
    const weight = kelvin ** 2 / 1e5;
    const log = Math.log(ohm);
    return { terms: [weight, weight * log, weight * log ** 3], right: weight / kelvin };
  });
  const [a, b, c] = leastSquares(rows);
  return { a, b, c };
}

/** Temperature at a resistance, degC. */
export function temperatureOf({ a, b, c }: SteinhartHart, ohm: number): number {
  const log = Math.log(ohm);
  return 1 / (a + b * log + c * log ** 3) - ZERO_K;
}

/**
 * Resistance at a temperature, ohm, by halving: the curve of a thermistor falls throughout. NaN if the
 * temperature is not met between 0.1 ohm and 100 Mohm.
 */
export function resistanceOf(curve: SteinhartHart, degC: number): number {
  let [low, high] = [Math.log(0.1), Math.log(1e8)];
  const at = (log: number) => temperatureOf(curve, Math.exp(log));
  if (!(at(low) >= degC && at(high) <= degC)) return NaN;
  while (high - low > 1e-12) {
    const middle = (low + high) / 2;
    if (at(middle) > degC) low = middle;
    else high = middle;
  }
  return Math.exp((low + high) / 2);
}

/** Whether the curve falls all the way between two resistances: d(1/T)/d(ln R) stays over zero. */
export function fallsBetween({ b, c }: SteinhartHart, lowOhm: number, highOhm: number): boolean {
  // B + 3 C x^2 is lowest at an end of the range, or at x = 0 where the range spans it.
  const [from, to] = [Math.log(lowOhm), Math.log(highOhm)];
  const places = from < 0 && to > 0 ? [from, to, 0] : [from, to];
  return places.every((log) => b + 3 * c * log ** 2 > 0);
}

interface Row {
  readonly terms: readonly number[];
  readonly right: number;
}

/** Least squares of three unknowns by modified Gram-Schmidt, which needs no square of the condition. */
function leastSquares(rows: readonly Row[]): number[] {
  const columns = [0, 1, 2].map((column) => rows.map(({ terms }) => terms[column]));
  const rest = rows.map(({ right }) => right);
  const upper = [0, 1, 2].map(() => [0, 0, 0]);
  const shares = [0, 0, 0];
  for (let at = 0; at < 3; at++) {
    const length = Math.sqrt(dot(columns[at], columns[at]));
    const direction = columns[at].map((value) => value / length);
    upper[at][at] = length;
    for (let after = at + 1; after < 3; after++) {
      upper[at][after] = removeShare(columns[after], direction);
    }
    shares[at] = removeShare(rest, direction);
  }
  const answer = [0, 0, 0];
  for (let at = 2; at >= 0; at--) {
    let sum = shares[at];
    for (let after = at + 1; after < 3; after++) sum -= upper[at][after] * answer[after];
    answer[at] = sum / upper[at][at];
  }
  return answer;
}

function dot(left: readonly number[], right: readonly number[]): number {
  return left.reduce((sum, value, index) => sum + value * right[index], 0);
}

/** Takes the part along `direction` out of `column` and gives its length. */
function removeShare(column: number[], direction: readonly number[]): number {
  const share = dot(column, direction);
  for (let index = 0; index < column.length; index++) column[index] -= share * direction[index];
  return share;
}
