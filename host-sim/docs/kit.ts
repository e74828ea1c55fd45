/**
 * The tables of the builder's pages: parts and ratings from the netlists, filters, the error budget, the
 * loom from pins.json and wiring.json, fuse and wire from the rules of the plan. Gives Markdown.
 */
import { readFileSync } from 'node:fs';
import { initialSettings } from '../../controller/settings-check.js';
import { Lamp, LAMPS } from '../../controller/tick/6-output.js';
import { parseCalibration } from '../calibration/read.js';
import { errorBudget, finerThanSensor, type BudgetInputs } from '../front-end/budget.js';
import { readCircuits, type Circuit, type Part } from '../front-end/netlist.js';
import { placeOf, pumpWire, readPins, readWiring } from '../front-end/wiring.js';
import { packagePath } from '../package-folder.js';
import { AT_REST, STEPS } from '../selftest/steps.js';
import { markdownTable } from './render.js';

/** Tables by the name their place in a page has. */
export function kitTables(): [name: string, table: string][] {
  return [
    ['circuits', circuitsTable()],
    ['parts', partsTable()],
    ['error budget', budgetTable()],
    ['error shares', sharesTable()],
    ['thresholds finer than their sensor', finerSentence()],
    ['wiring', wiringTable()],
    ['inside the box', insideTable()],
    ['pins', pinsTable()],
    ['fuse and wire', fuseTable()],
    ['lamp for the driver', driverTable()],
    ['self-test steps', stepsTable()],
    ['self-test at rest', restTable()],
  ];
}

function typical(): BudgetInputs {
  const file = packagePath('boards/pico/calibration.yaml');
  const { calibration, steps } = parseCalibration(readFileSync(file, 'utf8'), file);
  return { calibration, steps, settings: initialSettings() };
}

function circuitsTable(): string {
  const rows = [...readCircuits().values()].map(({ name, what }) => [link(name), what]);
  return markdownTable(['circuit', 'what it is for'], rows);
}

function link(name: string): string {
  return `[${name}](../boards/pico/circuits/${name}.cir)`;
}

function isBought({ rating }: Part): boolean {
  return (
    !rating.startsWith('inside') && !rating.startsWith('the other half') && rating !== 'the same'
  );
}

/** A symbol as people write it: 2.2 kohm, 470 nF. */
function valueText({ name, value, written }: Part): string {
  if (Number.isNaN(value)) return KINDS[written] ?? '';
  const unit = name.startsWith('C') ? 'F' : 'ohm';
  const found = /^([\d.]+)([a-z]*)$/u.exec(written);
  return found ? `${found[1]} ${found[2]}${unit}` : written;
}

const KINDS: Readonly<Record<string, string>> = {
  SCHOTTKY_SMALL: 'Schottky diode, small',
  SCHOTTKY_POWER: 'Schottky diode, power',
  SILICON: 'silicon diode',
  ZENER12: 'Zener diode, 12 V',
  DUMP: 'load-dump suppressor',
  NPN60: 'NPN transistor',
  NLOGIC: 'N-channel MOSFET',
  PPOWER: 'P-channel MOSFET',
  CHANNEL: 'analogue switch, eight ways',
};

function partsTable(): string {
  const rows = [...readCircuits().values()].flatMap((circuit: Circuit) =>
    circuit.parts
      .filter(isBought)
      .map((part) => [
        circuit.name,
        part.name.replace(/^[A-Z]_/u, ''),
        valueText(part),
        part.rating,
        part.why,
      ]),
  );
  return markdownTable(['circuit', 'part', 'value or kind', 'tolerance and rating', 'why'], rows);
}

function figure(value: number): string {
  return value >= 100 ? value.toFixed(0) : String(Number(value.toPrecision(2)));
}

function budgetTable(): string {
  const rows = errorBudget(typical()).map((row) => [
    row.channel,
    `${row.setting}, ${row.at} ${row.unit}`,
    `${figure(row.likely)} ${row.unit}`,
    `${figure(row.worst)} ${row.unit}`,
    `\`${row.hysteresisName}\` ${row.hysteresis} ${row.unit}`,
    verdict(row.likely, row.worst, row.hysteresis),
  ]);
  return markdownTable(
    ['channel', 'at', 'likely error', 'worst error', 'lets go by', 'threshold'],
    rows,
  );
}

function verdict(likely: number, worst: number, hysteresis: number): string {
  if (likely > hysteresis) return 'finer than its sensor';
  return worst > hysteresis ? 'finer than the worst case' : 'coarser than its sensor';
}

function sharesTable(): string {
  const rows = errorBudget(typical()).flatMap(({ channel, unit, shares }) =>
    shares.map(({ cause, amount }) => [channel, cause, `${figure(amount)} ${unit}`]),
  );
  return markdownTable(['channel', 'cause', 'at the worst'], rows);
}

function finerSentence(): string {
  const sentences = finerThanSensor(typical());
  if (sentences.length === 0) {
    return 'With the initial settings and the typical sensors no threshold is finer than its sensor.';
  }
  return sentences.map((sentence) => `- ${sentence}.`).join('\n');
}

function wiringTable(): string {
  const pins = readPins();
  const rows = readWiring().wires.map(({ at, name, to, pin, circuit, amperes }) => [
    at,
    name,
    to,
    placeOf(pins, pin),
    circuit === '' ? '' : link(circuit),
    amperes === 'pump' ? 'as the pump' : '0.5 mm²',
  ]);
  return markdownTable(['contact', 'wire', 'leads to', 'chip', 'circuit', 'wire size'], rows);
}

function insideTable(): string {
  const pins = readPins();
  const rows = readWiring().inside.map(({ pin, circuit, what }) => [
    `\`${pin}\``,
    placeOf(pins, pin),
    circuit === '' ? '' : link(circuit),
    what,
  ]);
  return markdownTable(['name', 'chip', 'circuit', 'what'], rows);
}

function pinsTable(): string {
  const rows = readPins().pins.map(({ name, gpio, direction, safe, why }) => [
    String(gpio),
    `\`${name}\``,
    direction,
    direction === 'out' ? safe : '',
    why,
  ]);
  return markdownTable(['GPIO', 'name', 'direction', 'safe level', 'why'], rows);
}

const PUMPS_A = [3, 5, 8];
const LENGTHS_M = [1.5, 3, 5];

function fuseTable(): string {
  const rows = PUMPS_A.flatMap((pumpA) =>
    LENGTHS_M.map((lengthM) => {
      const { fuseA, mm2, dropV } = pumpWire(pumpA, lengthM);
      return [
        `${pumpA} A`,
        `${lengthM} m`,
        fuseA === undefined ? 'none' : `${fuseA} A`,
        mm2 === undefined ? 'none' : `${mm2} mm²`,
        dropV === undefined ? '' : `${dropV.toFixed(2)} V`,
      ];
    }),
  );
  return markdownTable(
    ['pump, running', 'wire, one way', 'blade fuse', 'wire', 'lost there and back'],
    rows,
  );
}

/** What a driver does about each lamp; one that is missing does not compile. */
const DRIVER: Readonly<Record<Lamp, string>> = {
  [Lamp.Off]: 'nothing: the pump cannot run',
  [Lamp.Steady]: 'drive',
  [Lamp.Fast]: 'drive; it ends by itself',
  [Lamp.TwoBlinks]: 'refill at the next service, and tell the refill',
  [Lamp.ThreeBlinks]: 'drive; only the button sprays, if anything; have it looked at',
  [Lamp.LongShort]: 'open the arm switch for 2 s; if it comes back, leave it open for the day',
  [Lamp.Confirm]: 'nothing: it has understood',
};

function driverTable(): string {
  const rows = LAMPS.map(({ id, meaning }, lamp) => [id, meaning, DRIVER[lamp as Lamp]]);
  return markdownTable(['lamp', 'it means', 'you'], rows);
}

function stepsTable(): string {
  const rows = Object.values(STEPS).map(({ title, passes }) => [title, passes]);
  return markdownTable(['step', 'passes if'], rows);
}

function restTable(): string {
  const rows = Object.entries(AT_REST).map(([input, { min, max, unit, why }]) => {
    const range = min === max ? `${min}` : max === Infinity ? `${min} or more` : `${min} to ${max}`;
    return [input, `${range} ${unit}`.trim(), why];
  });
  return markdownTable(['input', 'reads', 'why'], rows);
}
