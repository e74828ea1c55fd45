/**
 * Whether picks hold, in the closed loop: draws in which nothing strays, one thing strays, or all do as
 * usual, on a minute of hills. What is expected is told by the single run, by the physics of the cooler,
 * and by counting.
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { initialSettings } from '../../../controller/settings-check.js';
import type { Settings } from '../../../controller/settings.js';
import { defaultCar } from '../../../host-sim/car/layout.js';
import { ModelTrace } from '../../../host-sim/closed-loop/loop.js';
import { compressorOutletK } from '../../../host-sim/plant/intake.js';
import { evaluateClosed, makeModelTrack } from '../../../host-sim/tune/closed.js';
import {
  asAllSensed,
  drawDisturbance,
  onOtherDay,
  SPREAD,
  type Disturbance,
  type Sizes,
} from '../../../host-sim/tune/disturb.js';
import { evaluateOpen } from '../../../host-sim/tune/evaluate.js';
import type { Measure } from '../../../host-sim/tune/measure.js';
import { runsUnder, spreadOf, type SpreadJob } from '../../../host-sim/tune/spread.js';
import { smirr } from '../smirr.js';
import { hillyTrace, trackOf } from './kit.js';

const TARGET_DC = 400;
const NOTHING_STRAYS = Object.fromEntries(
  Object.keys(SPREAD).map((name) => [name, 0]),
) as unknown as Sizes;
const AS_IT_IS = drawDisturbance(1, 0, NOTHING_STRAYS);

const trace = hillyTrace('a minute', 60);
const options = { car: defaultCar(), carName: 'default', hasGears: false, weather: {} };
const model = ModelTrace.of(trace, options);
const today: Settings = {
  ...initialSettings(),
  tempOnDc: 480,
  burstMs: 1000,
  restMs: 3000,
  restHotMs: 1500,
};
/** Sprays burst after burst, the same ones whatever the charge is. */
const always: Settings = { ...today, tempOnDc: 200, restHotMs: today.restMs };
const job: SpreadJob = {
  traces: [trace],
  models: [model],
  between: undefined,
  targetDc: TARGET_DC,
  seed: 1,
  tankUl: undefined,
  goal: { withinShare: undefined, ticks: 3001, tankUl: undefined },
  today,
  picks: [],
  onDraw: () => undefined,
};

/** The first half of it, for what takes many draws. */
const half: SpreadJob = {
  ...job,
  traces: [],
  models: [ModelTrace.of(hillyTrace('half', 30), options)],
};

function under(strays: Partial<Disturbance>, settings: Settings): Measure {
  return runsUnder(job, { ...AS_IT_IS, ...strays })(settings).total;
}

describe('a closed-loop spread', () => {
  it('in which nothing strays is the single run, exactly', async () => {
    const single = evaluateClosed(
      makeModelTrack(model, 'hold', today.lateAfterMs, TARGET_DC),
      today,
    );
    expect(single.waterUl).toBeGreaterThan(0);
    expect(single.heat).toBeGreaterThan(0);
    expect(under({}, today)).toEqual(single);
    const { today: spread } = await spreadOf({ ...half, sizes: NOTHING_STRAYS });
    const { waterUl, heat } = runsUnder(half, AS_IT_IS)(today).total;
    expect(spread.water).toEqual({ p10: waterUl, p90: waterUl, worst: waterUl });
    expect(spread.heat).toEqual({ p10: heat, p90: heat, worst: heat });
  });

  it('is another with another loop: open, in which nothing strays, it is the open run', () => {
    const open: SpreadJob = { ...job, models: undefined };
    const { waterUl, heat } = runsUnder(open, AS_IT_IS)(today).total;
    const single = evaluateOpen(trackOf(trace, TARGET_DC), today);
    expect({ waterUl, heat }).toEqual({ waterUl: single.waterUl, heat: single.heat });
    expect(heat).not.toBe(under({}, today).heat);
  });

  it('on a warmer day sprays no less and is hotter, on a colder one the other way round', () => {
    const [cold, same, warm] = [-60, 0, 60].map((weatherDc) => under({ weatherDc }, today));
    expect(warm.heat).toBeGreaterThan(same.heat);
    expect(same.heat).toBeGreaterThan(cold.heat);
    expect(warm.waterUl).toBeGreaterThan(same.waterUl);
    expect(same.waterUl).toBeGreaterThan(cold.waterUl);
  });

  it('warms the dry charge by as much as the air, and by what the compressor adds to that', () => {
    // The rise over a compressor is proportional to the temperature before it (Saravanamuttoo et al., Gas
    // Turbine Theory, ch. 2), so what the cooler leaves of a warmer day lies between 1 and that ratio.
    const { compressor } = options.car;
    const most = compressorOutletK(1, 2.7, compressor.efficiencyShare);
    const dry = (weatherDc: number) => {
      const day = onOtherDay(model.conditions, { ...AS_IT_IS, weatherDc });
      const { sensorK } = new ModelTrace(day).dryRun('hold');
      return sensorK.reduce((sum, kelvin) => sum + kelvin, 0) / sensorK.length;
    };
    const gain = (dry(100) - dry(0)) / 10;
    expect(gain).toBeGreaterThan(0.99);
    expect(gain).toBeLessThan(most);
  });

  it('in moister air cools less with the same water', () => {
    const [dry, moist] = [-200, 200].map((humidityPm) => under({ humidityPm }, always));
    expect(moist.sprayTicks).toBe(dry.sprayTicks);
    expect(moist.heat).toBeGreaterThan(dry.heat);
  });

  it('with more true flow at the same settings cools no less and uses more true water', () => {
    const [less, more] = [0.9, 1.1].map((flowShare) => under({ flowShare }, always));
    expect(more.sprayTicks).toBe(less.sprayTicks);
    expect(more.waterUl / less.waterUl).toBeCloseTo(1.1 / 0.9, 4);
    expect(more.heat).toBeLessThan(less.heat);
  });

  it('tells the core of it by sensors, and the plant of none of their errors', () => {
    const errors = { chargeOffsetDc: 20, boostOffsetHpa: 40, offsetRpm: 30, noise: SPREAD };
    const dry = { ...today, automaticAllowed: 0, manualAllowed: 0 };
    expect(under(errors, dry)).toEqual(under({}, dry));
    // Told that the charge is colder, the core sprays less, and the true charge is hotter for it.
    const [cold, warm] = [-80, 80].map((chargeOffsetDc) => under({ chargeOffsetDc }, today));
    expect(cold.waterUl).toBeLessThan(warm.waterUl);
    expect(cold.heat).toBeGreaterThan(warm.heat);
    // Told of too little boost, it sprays less as well.
    const [low, high] = [-400, 400].map((boostOffsetHpa) => under({ boostOffsetHpa }, always));
    expect(low.waterUl).toBeLessThan(high.waterUl);
  });

  it('lets no engine that stands seem to turn', () => {
    const standing = { ...trace, columns: { ...trace.columns, rpm: new Int32Array(601) } };
    const { rpm, boost } = asAllSensed(standing, drawDisturbance(1, 0)).columns;
    expect(rpm).toEqual(new Int32Array(601));
    const errors = boost!.map((value, row) => value - trace.columns.boost![row]);
    expect(new Set(errors).size).toBeGreaterThan(20);
  });

  it('is the same for the same seed and another for another', async () => {
    const [one, again] = [await spreadOf(half), await spreadOf(half)];
    const other = await spreadOf({ ...half, seed: 2 });
    expect(JSON.stringify(again)).toBe(JSON.stringify(one));
    expect(JSON.stringify(other)).not.toBe(JSON.stringify(one));
    expect(one.today.heat.p10).toBeLessThan(one.today.heat.p90);
  });

  it('marks a pick that holds on a knife edge only, judged in the model', async () => {
    // A start that leaves what the pick sprays above the reserve, and a thousandth more: more flow in
    // half of the draws is too much, but never with twice the water.
    const { waterUl } = runsUnder(half, AS_IT_IS)(always).total;
    const picks = [{ name: 'coolest' as const, settings: always }];
    const keptFrom = async (share: number) => {
      const tankUl = Math.round(share * waterUl) + always.reserveUl;
      const { picks: spreads } = await spreadOf({ ...half, picks, tankUl });
      return spreads[0];
    };
    const edge = await keptFrom(1.001);
    expect(edge.isKnifeEdge).toBe(true);
    expect(edge.kept).toBeGreaterThan(10);
    expect(edge.kept).toBeLessThan(30);
    expect(await keptFrom(2)).toMatchObject({ kept: 40, isKnifeEdge: false });
  });
});

describe('smirr tune --car --spread', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'smirr-test-'));
    const { timeMs, columns } = trace;
    const rows = Array.from(timeMs, (ms, row) => {
      const of = (name: 'rpm' | 'boost' | 'ambient' | 'speed') => columns[name]![row];
      const values = [ms / 1000, of('rpm'), of('boost'), of('ambient') / 10, of('speed') / 10];
      return values.join(',');
    });
    const header = 'time [s],rpm [1/min],boost [hPa],ambient [degC],speed [km/h]';
    writeFileSync(join(folder, 'minute.csv'), [header, ...rows, ''].join('\n'));
  });
  afterAll(() => rmSync(folder, { recursive: true }));

  async function tune(...args: string[]) {
    const model = ['--car', 'default', '--weather', '32degC,50%', '--target', '40degC'];
    const asked = ['--vary', 'tempOn=30degC', '--spread', '--workers', '1'];
    return smirr('tune', join(folder, 'minute.csv'), ...model, ...asked, ...args);
  }

  it('says which loop it was, what was disturbed and by how much, as text and on the page', async () => {
    const html = join(folder, 'page.html');
    const { exit, out, err } = await tune('--html', html);
    expect(exit, err).toBe(0);
    const said = out.replace(/\s+/gu, ' ');
    const sentences = [
      'Closed loop: 40 draws of other sensors, weather and flow (the same for all), with the model run anew in each.',
      'engine speed 15 1/min offset and 30 1/min noise, ambient sensor 1.0 °C offset and 0.3 °C noise',
      'air outside 4.0 °C, relative humidity 10 % and flow 6 %. All but noise is cut off at 2 of them.',
    ];
    const page = readFileSync(html, 'utf8').replace(/\s+/gu, ' ');
    for (const sentence of sentences) {
      expect(said).toContain(sentence);
      expect(page).toContain(sentence);
    }
    expect(said).toMatch(/ today \d+ ml to \d+ ml \d+ ml \d+ to \d+ °C s \d+ °C s/u);
  });

  it('says so in JSON', async () => {
    const { out } = await tune('--json');
    const { spread, today, picks } = JSON.parse(out) as {
      spread: Record<string, unknown>;
      today: { spread: { draws: number; heatCs: Record<string, number> } };
      picks: Record<string, { spread: object }>;
    };
    expect(spread).toMatchObject({ loop: 'closed', draws: 40, cutAtDeviations: 2 });
    const deviations = { weatherC: 4, humidityShare: 0.1, noiseRpm: 30, flowShare: 0.06 };
    expect(spread['standardDeviations']).toMatchObject(deviations);
    expect(today.spread.heatCs['p10']).toBeLessThan(today.spread.heatCs['p90']);
    expect(picks['knee'].spread).toHaveProperty('kept');
  });
});
