/**
 * Textbook effectiveness of a cross-flow heat exchanger by its number of transfer units and its ratio of
 * capacity rates (least over most, 0 to 1): what the model's segments are judged by. Incropera and
 * DeWitt, Fundamentals of Heat and Mass Transfer, chapter 11; the exact series is Mason's (1954).
 */

/** Both streams unmixed, exact: Mason's series. */
export function unmixedExact(units: number, ratio: number): number {
  if (ratio === 0) return 1 - Math.exp(-units);
  const other = ratio * units;
  let [termA, termB] = [Math.exp(-units), Math.exp(-other)];
  let [leftA, leftB] = [1 - termA, 1 - termB];
  let sum = 0;
  for (let k = 0; k < 400; k++) {
    sum += leftA * leftB;
    termA *= units / (k + 1);
    termB *= other / (k + 1);
    leftA -= termA;
    leftB -= termB;
    if (leftA < 1e-15 || leftB < 1e-15) break;
  }
  return sum / other;
}

/** Both streams unmixed, the textbook's approximation: within 0.011 of the exact series. */
export function unmixedApproximate(units: number, ratio: number): number {
  if (ratio === 0) return 1 - Math.exp(-units);
  return 1 - Math.exp((units ** 0.22 / ratio) * (Math.exp(-ratio * units ** 0.78) - 1));
}

/** The stream of the greater capacity rate mixed, the other unmixed. */
export function mostMixed(units: number, ratio: number): number {
  if (ratio === 0) return 1 - Math.exp(-units);
  return (1 / ratio) * (1 - Math.exp(-ratio * (1 - Math.exp(-units))));
}

/** The stream of the lesser capacity rate mixed, the other unmixed. */
export function leastMixed(units: number, ratio: number): number {
  if (ratio === 0) return 1 - Math.exp(-units);
  return 1 - Math.exp(-(1 / ratio) * (1 - Math.exp(-ratio * units)));
}

/** Both streams mixed. */
export function bothMixed(units: number, ratio: number): number {
  if (ratio === 0) return 1 - Math.exp(-units);
  const a = 1 / (1 - Math.exp(-units));
  const b = ratio / (1 - Math.exp(-ratio * units));
  return 1 / (a + b - 1 / units);
}

/** Counter-flow: no exchanger of the same size is better. */
export function counterFlow(units: number, ratio: number): number {
  if (ratio === 1) return units / (1 + units);
  const left = Math.exp(-units * (1 - ratio));
  return (1 - left) / (1 - ratio * left);
}

/** Parallel flow: no exchanger of the same size is worse. */
export function parallelFlow(units: number, ratio: number): number {
  return (1 - Math.exp(-units * (1 + ratio))) / (1 + ratio);
}
