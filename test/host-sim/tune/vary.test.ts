/** What --vary may say, and the sentence for whatever it may not. */
import { describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import { SETTINGS } from '../../../controller/settings.js';
import { Fault } from '../../../host-sim/fault.js';
import { parseVariations } from '../../../host-sim/tune/vary.js';

const TODAY = initialSettings();

function values(text: string): readonly number[] {
  return parseVariations([text], TODAY)[0].values;
}

function fault(...texts: string[]): Fault {
  try {
    parseVariations(texts, TODAY);
  } catch (error) {
    if (error instanceof Fault) return error;
  }
  throw new Error('no fault');
}

describe('--vary', () => {
  it('reads a range with its step, in any unit of the setting', () => {
    expect(values('tempOn=40..42degC:1')).toEqual([400, 410, 420]);
    expect(values('burst=1..2s:0.5')).toEqual([1000, 1500, 2000]);
    expect(values('burst=500ms..2s:500ms')).toEqual([500, 1000, 1500, 2000]);
    expect(values('rpmOn=2000..3000:500')).toEqual([2000, 2500, 3000]);
    expect(values('boostOn=0.3..0.5bar:100hPa')).toEqual([300, 400, 500]);
  });

  it('takes a step of temperature as a difference, not as a point on the scale', () => {
    // 104 degF is 40 degC and 122 degF is 50 degC; 9 degF of difference are 5 degC.
    expect(values('tempOn=104..122degF:9')).toEqual([400, 450, 500]);
    expect(values('tempOn=313.15..315.15K:1')).toEqual([400, 410, 420]);
  });

  it('includes the upper end where the steps meet it, and never goes beyond it', () => {
    expect(values('tempOn=40..45degC:2')).toEqual([400, 420, 440]);
    expect(values('burst=1..1s:1')).toEqual([1000]);
    // 0.1 is no binary fraction, and the last of ten steps must not be lost.
    expect(values('burst=1..2s:0.1')).toHaveLength(11);
  });

  it('reads a list, sorted and without repeats; the last unit serves numbers without one', () => {
    expect(values('restHot=6s,3s,4.5s,3s')).toEqual([3000, 4500, 6000]);
    expect(values('restHot=3,4.5,6s')).toEqual([3000, 4500, 6000]);
    expect(values('precool=on,off')).toEqual([0, 1]);
  });

  it('auto gives every setting of the table some values within its range', () => {
    for (const { name, min, max } of SETTINGS) {
      const list = values(`${name}=auto`);
      expect(list.length, name).toBeGreaterThanOrEqual(2);
      expect(list.length, name).toBeLessThanOrEqual(10);
      expect(Math.min(...list), name).toBeGreaterThanOrEqual(min);
      expect(Math.max(...list), name).toBeLessThanOrEqual(max);
    }
  });

  it('auto lies on both sides of today’s value where the table leaves room', () => {
    const list = values('tempOn=auto');
    expect(Math.min(...list)).toBeLessThan(TODAY.tempOnDc);
    expect(Math.max(...list)).toBeGreaterThan(TODAY.tempOnDc);
  });

  it('counts values outside the range and leaves them out', () => {
    const [{ values: list, outside }] = parseVariations(['tempOn=80..100degC:5'], TODAY);
    expect(list).toEqual([800, 850, 900]);
    expect(outside).toBe(2);
  });

  it.each([
    ['tempOm=40..50degC:1', 'E-TUNE-01', 'did you mean tempOn?'],
    ['tempOn', 'E-TUNE-02', 'must be NAME=VALUES'],
    ['tempOn=', 'E-TUNE-03', 'is empty'],
    ['tempOn=40..50degC', 'E-TUNE-02', 'has no step'],
    ['tempOn=40..50:1', 'E-TUNE-02', 'its unit is missing'],
    ['tempOn=40..50bar:1', 'E-TUNE-02', 'bar is the unit of a pressure'],
    ['tempOn=50..40degC:1', 'E-TUNE-03', 'empty range'],
    ['tempOn=40..50degC:0', 'E-TUNE-03', 'it must be over zero'],
    ['tempOn=40..50degC:-1', 'E-TUNE-03', 'it must be over zero'],
    ['tempOn=95..120degC:5', 'E-TUNE-03', '10.0 degC to 90.0 degC'],
    ['tank=0.2..50L:1ul', 'E-TUNE-03', 'more than 1000 of one setting'],
    ['precool=maybe', 'E-TUNE-02', 'it must be off or on'],
    ['tempOn=40,zwei,50degC', 'E-TUNE-02', 'zwei'],
  ] as const)('%s is refused with one sentence: %s', (text, code, words) => {
    const { message, exit, code: found } = fault(text);
    expect(found).toBe(code);
    expect(exit).toBe(2);
    expect(message).toContain(words);
    expect(message).not.toContain('\n');
  });

  it('refuses a setting that is named twice', () => {
    expect(fault('tempOn=auto', 'tempOn=auto')).toMatchObject({ code: 'E-TUNE-02' });
  });
});
