/**
 * Curves to integer tables: the worst error is that of the core's own arithmetic, and the points lie
 * where they do most good. IEC 60751's platinum curve is one of the curves.
 */
import { describe, expect, it } from 'vitest';
import { lookOf, tableError, tableOf } from '../../../host-sim/calibrate/table.js';

/** IEC 60751, over 0 degC: R = 100 (1 + A t + B t^2), solved for t. */
function platinumDegC(ohm: number): number {
  const [a, b] = [3.9083e-3, -5.775e-7];
  return (-a + Math.sqrt(a * a - 4 * b * (1 - ohm / 100))) / (2 * b);
}

describe('a table of integers', () => {
  it('of a straight line needs its two ends only', () => {
    const table = tableOf((code) => (code - 1000) / 50, 1000, 61000);
    expect(table).toEqual([
      { code: 1000, value: 0 },
      { code: 61000, value: 1200 },
    ]);
  });

  it('of platinum under 1 kohm is within 0.06 degC of the rows of IEC 60751', () => {
    // The outermost rows lie under the ends of the table, where the outer value holds.
    const code = (ohm: number) => (65535 * ohm) / (ohm + 1000);
    const curve = (at: number) => 10 * platinumDegC((1000 * at) / (65535 - at));
    const table = tableOf(curve, Math.ceil(code(100)), Math.floor(code(175.86)));
    const look = lookOf(table);
    for (const [degC, ohm] of [
      [20, 107.79],
      [25, 109.73],
      [50, 119.4],
      [60, 123.24],
      [80, 130.9],
      [100, 138.51],
      [120, 146.07],
      [150, 157.33],
    ] as const) {
      const read = look(Math.round(code(ohm))) / 10;
      expect(Math.abs(read - degC), `${degC} degC`).toBeLessThan(0.06 + 0.05);
    }
    expect(tableError(curve, table).worst).toBeLessThanOrEqual(1.01);
  });

  it('of a bent curve beats points laid at equal distances, and its error is found over all codes', () => {
    const curve = (code: number) => 1e7 / (code + 2000);
    const [from, to] = [800, 64000];
    const table = tableOf(curve, from, to);
    expect(table.length).toBeLessThanOrEqual(32);
    const even = Array.from({ length: 32 }, (_, at) => {
      const code = Math.round(from + ((to - from) * at) / 31);
      return { code, value: Math.round(curve(code)) };
    });
    const found = tableError(curve, table);
    expect(found.worst).toBeLessThan(tableError(curve, even).worst / 4);
    const look = lookOf(table);
    expect(Math.abs(look(found.code) - curve(found.code))).toBe(found.worst);
    for (let code = from; code <= to; code += 101) {
      expect(Math.abs(look(code) - curve(code))).toBeLessThanOrEqual(found.worst);
    }
  });

  it('keeps to the number of points it is given, and no two neighbours are equal', () => {
    const table = tableOf((code) => 2000 * Math.exp(-code / 9000), 800, 64000, 8);
    expect(table.length).toBeLessThanOrEqual(8);
    table.slice(1).forEach(({ code, value }, at) => {
      expect(code).toBeGreaterThan(table[at].code);
      expect(value).toBeLessThan(table[at].value);
    });
  });
});
