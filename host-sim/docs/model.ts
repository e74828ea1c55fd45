/**
 * The demo's hot stage in the model, for docs/model.md: charge and metal without and with water, the film,
 * and where the heat goes, as a picture and as a table. The built-in car, the initial settings.
 */
import { initialSettings } from '../../controller/settings-check.js';
import { defaultCar } from '../car/layout.js';
import { DrivenPlant, sprayKgpsOf, TICK_MS } from '../closed-loop/driven-plant.js';
import { ModelTrace } from '../closed-loop/loop.js';
import { energyErrorShare } from '../closed-loop/model-run.js';
import { ZERO_K } from '../plant/air.js';
import type { EnergyBooks } from '../plant/plant.js';
import { drive } from '../replay/drive.js';
import { Feed } from '../replay/feed.js';
import type { Run } from '../replay/run.js';
import { LIGHT } from '../report/style.js';
import { demoTrace } from '../trace/demo.js';
import { markdownTable } from './render.js';
import { line, svg, text } from './svg.js';

const STAGE = 'demo:hot';
/** A point of the picture for so many ticks: powers are means over that time. */
const POINT_TICKS = 50;
const POINT_S = (POINT_TICKS * TICK_MS) / 1000;

/** What the picture shows of a moment: powers in kW are means since the moment before. */
interface Moment {
  readonly chargeDegC: number;
  readonly metalDegC: number;
  readonly filmMl: number;
  readonly fromCharge: number;
  readonly toAir: number;
  readonly byWater: number;
}

/** One plant over the stage. */
interface Course {
  readonly moments: readonly Moment[];
  readonly energy: EnergyBooks;
  readonly errorShare: number;
}

let made: { readonly run: Run; readonly dry: Course; readonly wet: Course } | undefined;

/** The stage once, dry and with the water of a closed loop; kept, since page and picture want it. */
function stage(): NonNullable<typeof made> {
  if (made !== undefined) return made;
  const trace = demoTrace(STAGE);
  const model = ModelTrace.of(trace, {
    car: defaultCar(),
    carName: 'default',
    hasGears: false,
    weather: {},
  });
  const run = drive(trace, { settings: initialSettings(), settingsName: 'initial', model });
  const kgps = sprayKgpsOf(run.settings);
  const isSpraying = (ms: number) =>
    run.sprays.some(({ fromMs, toMs }) => ms >= fromMs && ms < toMs);
  made = {
    run,
    dry: courseOf(model, run, () => 0),
    wet: courseOf(model, run, (ms) => (isSpraying(ms) ? kgps : 0)),
  };
  return made;
}

/** Moves a plant over the stage again with the sprays of the run, and looks at its books. */
function courseOf(model: ModelTrace, run: Run, sprayKgps: (ms: number) => number): Course {
  const driven = new DrivenPlant(model.conditions);
  const { plant } = driven;
  const feed = new Feed(model.trace, run.between, run.settings.lateAfterMs);
  const moments: Moment[] = [];
  let before = plant.energy();
  for (let tick = 0; tick < run.ticks; tick++) {
    feed.at(tick * TICK_MS);
    driven.step(tick * TICK_MS, feed.readings, sprayKgps(tick * TICK_MS));
    if ((tick + 1) % POINT_TICKS !== 0) continue;
    const now = plant.energy();
    const power = (book: keyof EnergyBooks) => (now[book] - before[book]) / POINT_S / 1000;
    moments.push({
      chargeDegC: plant.sensorK - ZERO_K,
      metalDegC: meanOf(plant.metalK) - ZERO_K,
      filmMl: plant.filmTotalKg() * 1000,
      ...{ fromCharge: power('chargeJ'), toAir: power('airJ'), byWater: power('latentJ') },
    });
    before = now;
  }
  return { moments, energy: plant.energy(), errorShare: energyErrorShare(plant) };
}

function valuesOf({ moments }: Course, what: keyof Moment): number[] {
  return moments.map((moment) => moment[what]);
}

function meanOf(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** Where the heat of the stage went, kJ, and what does not close. */
export function modelTable(): string {
  const { dry, wet } = stage();
  const kilojoules = (joules: number): string => (joules / 1000).toFixed(0);
  const rows: [string, (course: Course) => string][] = [
    ['given by the charge, kJ', ({ energy }) => kilojoules(energy.chargeJ)],
    ['soaked in from the engine bay, kJ', ({ energy }) => kilojoules(energy.bayJ)],
    ['taken by the cooling air as warmth, kJ', ({ energy }) => kilojoules(energy.airJ)],
    ['taken by water that evaporated on the fins, kJ', ({ energy }) => kilojoules(energy.latentJ)],
    ['left in the metal, kJ', ({ energy }) => kilojoules(energy.metalJ)],
    [
      'charge at its hottest, degC',
      (course) => Math.max(...valuesOf(course, 'chargeDegC')).toFixed(1),
    ],
    [
      'metal at its hottest (mean), degC',
      (course) => Math.max(...valuesOf(course, 'metalDegC')).toFixed(1),
    ],
    ['does not close', ({ errorShare }) => (errorShare < 1e-9 ? 'under 1e-7 %' : `${errorShare}`)],
  ];
  return markdownTable(
    [`\`${STAGE}\`, built-in car`, 'dry', 'with water'],
    rows.map(([what, of]) => [what, of(dry), of(wet)]),
  );
}

const LEFT = 150;
const RIGHT = 1010;
const WIDTH = 1180;

interface Panel {
  readonly name: string;
  readonly unit: string;
  readonly top: number;
  readonly height: number;
  readonly ticks: readonly number[];
}

/** Charge and metal, film, and powers of the wet run over the time of the stage. */
export function modelPicture(): string {
  const { run, dry, wet } = stage();
  const charge = panel('Charge', 'degC', 50, 190, [40, 50, 60, 70, 80]);
  const film = panel('Film', 'ml on the fins', 270, 60, [0, 4, 8]);
  const heat = panel('Heat', 'kW, means over 1 s', 360, 190, [-10, 0, 10, 20, 30]);
  const bottom = heat.top + heat.height;
  const parts = [
    text(24, 28, `${STAGE} in the model: without water, and with the initial settings`, {
      size: 17,
      bold: true,
    }),
    ...run.sprays.map(({ fromMs, toMs }) => band(run, fromMs, toMs, bottom)),
    ...[charge, film, heat].flatMap(frame),
    curve(charge, valuesOf(dry, 'chargeDegC'), LIGHT.heat, 1.2, '7 3'),
    curve(charge, valuesOf(wet, 'chargeDegC'), LIGHT.heat, 2.2),
    curve(charge, valuesOf(wet, 'metalDegC'), LIGHT.soft, 1.2),
    label(charge, valuesOf(dry, 'chargeDegC'), 'charge, dry', LIGHT.heat, -18),
    label(charge, valuesOf(wet, 'chargeDegC'), 'charge, with water', LIGHT.heat, -4),
    label(charge, valuesOf(wet, 'metalDegC'), 'metal, with water', LIGHT.soft, 14),
    curve(film, valuesOf(wet, 'filmMl'), LIGHT.water, 2),
    curve(heat, valuesOf(wet, 'fromCharge'), LIGHT.heat, 2),
    curve(heat, valuesOf(wet, 'toAir'), LIGHT.press, 1.4),
    curve(heat, valuesOf(wet, 'byWater'), LIGHT.water, 2),
    label(heat, valuesOf(wet, 'fromCharge'), 'given by the charge', LIGHT.heat, -22),
    label(heat, valuesOf(wet, 'toAir'), 'taken by the air', LIGHT.press, -4),
    label(heat, valuesOf(wet, 'byWater'), 'taken by the water', LIGHT.water, 14),
    ...timeAxis(run, bottom),
  ];
  const title =
    'Charge temperature dry and wet, film of water, and heat from charge to air and water';
  return svg(WIDTH, bottom + 50, title, parts);
}

function panel(
  name: string,
  unit: string,
  top: number,
  height: number,
  ticks: readonly number[],
): Panel {
  return { name, unit, top, height, ticks };
}

function heightAt({ top, height, ticks }: Panel, value: number): number {
  const [least, most] = [ticks[0], ticks[ticks.length - 1]];
  return top + height * (1 - (value - least) / (most - least));
}

function frame(each: Panel): string[] {
  const { name, unit, top, ticks } = each;
  return [
    text(24, top + 14, name, { size: 15, bold: true }),
    text(24, top + 30, unit, { size: 12, colour: LIGHT.soft }),
    ...ticks.map((tick) => {
      const y = Math.round(heightAt(each, tick));
      const word = text(LEFT - 8, y + 4, `${tick}`.replace('-', '\u2212'), {
        anchor: 'end',
        size: 12,
        colour: LIGHT.soft,
      });
      return line(LEFT, y, RIGHT, y, LIGHT.hair, 1) + word;
    }),
  ];
}

function curve(
  each: Panel,
  values: readonly number[],
  colour: string,
  width: number,
  dash = '',
): string {
  const step = (RIGHT - LEFT) / values.length;
  const points = values.map((value, at) => {
    const x = (LEFT + step * (at + 1)).toFixed(1);
    return `${x},${heightAt(each, value).toFixed(1)}`;
  });
  const dashed = dash === '' ? '' : ` stroke-dasharray="${dash}"`;
  return `<polyline fill="none" stroke="${colour}" stroke-width="${width}" stroke-linejoin="round"${dashed} points="${points.join(' ')}"/>`;
}

/** A line's name at its end, moved down by `down`. */
function label(
  each: Panel,
  values: readonly number[],
  words: string,
  colour: string,
  down: number,
): string {
  const y = Math.round(heightAt(each, values[values.length - 1]) + down);
  return text(RIGHT + 10, y, words, { size: 12, colour });
}

function placeOf(run: Run, ms: number): number {
  return LEFT + ((RIGHT - LEFT) * ms) / (run.ticks * TICK_MS);
}

function band(run: Run, fromMs: number, toMs: number, bottom: number): string {
  const x = placeOf(run, fromMs);
  const width = placeOf(run, toMs) - x;
  return `<rect x="${x.toFixed(1)}" y="44" width="${width.toFixed(1)}" height="${bottom - 44}" fill="${LIGHT.mist}"/>`;
}

function timeAxis(run: Run, bottom: number): string[] {
  const marks = [0, 30, 60, 90, 120, 150, 180].map((seconds) => {
    const x = Math.round(placeOf(run, seconds * 1000));
    const words = `${Math.floor(seconds / 60)}:${`${seconds % 60}`.padStart(2, '0')}`;
    return (
      line(x, bottom, x, bottom + 5, LIGHT.soft, 1) +
      text(x, bottom + 20, words, { anchor: 'middle', size: 12 })
    );
  });
  return [
    line(LEFT, bottom, RIGHT, bottom, LIGHT.soft, 1),
    ...marks,
    text(24, bottom + 20, 'time, m:ss', { size: 12, colour: LIGHT.soft }),
    text(
      LEFT,
      bottom + 40,
      'Pale bands: spraying. Heat below zero flows back from the warm bay air.',
      {
        size: 12,
        colour: LIGHT.soft,
      },
    ),
  ];
}
