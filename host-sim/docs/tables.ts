/**
 * Every table of docs/ that is made from the code, by the name its place in a page has. Takes nothing
 * but the tables of controller/ and host-sim/; gives Markdown. Sentences that the code has no use for
 * stand here, typed so that a row without one does not compile.
 */
import { EVENTS } from '../../controller/events.js';
import { LIMITS } from '../../controller/limits.js';
import { HEALTH_WORDS, INPUTS, type InputName } from '../../controller/readings.js';
import { REASONS } from '../../controller/reasons.js';
import { CUTOFFS } from '../../controller/tick/5-cutoffs.js';
import { LAMPS } from '../../controller/tick/6-output.js';
import { MESSAGES } from '../messages.js';
import { TICK_COLUMNS } from '../replay/ticks.js';
import { settingsTableMarkdown } from '../settings/format.js';
import { calibrationTable } from './calibration.js';
import { carTable } from './car.js';
import { modelTable } from './model.js';
import { mutantsTable } from './mutants.js';
import { commandTables } from './commands.js';
import { courseFieldsTable, coursePiecesTable } from './course.js';
import { kitTables } from './kit.js';
import { limitsTable } from './limits.js';
import { exampleItinerary, itineraryTable, legsTable, planTranscript } from './plan.js';
import { readingsTable } from './readings.js';
import { markdownTable } from './render.js';
import { selfCheckSentence, stateTable } from './state.js';
import { strayedTable } from './strayed.js';

/** All tables by name. */
export async function docsTables(): Promise<ReadonlyMap<string, string>> {
  return new Map<string, string>([
    ['settings', settingsTableMarkdown()],
    ['calibration', calibrationTable()],
    ['car', carTable()],
    ['model', modelTable()],
    ['readings', readingsTable()],
    ['course pieces', coursePiecesTable()],
    ['course fields', courseFieldsTable()],
    ['cutoffs', cutoffsTable()],
    ['cutoffs why', cutoffsWhyTable()],
    ['reasons', reasonsTable()],
    ['lamp', lampTable()],
    ['events', eventsTable()],
    ['inputs', inputsTable()],
    ['health', healthTable()],
    ['limits', limitsTable()],
    ['messages', messagesTable()],
    ['tick columns', tickColumnsTable()],
    ['state', stateTable()],
    ['self-check', selfCheckSentence()],
    ['named mutants', mutantsTable()],
    ...kitTables(),
    ['itinerary', itineraryTable()],
    ['itinerary legs', legsTable()],
    ['example itinerary', exampleItinerary()],
    ['plan transcript', await planTranscript()],
    ['strayed', strayedTable()],
    ...(await commandTables()),
  ]);
}

function code(word: string): string {
  return `\`${word}\``;
}

function cutoffsTable(): string {
  return markdownTable(
    ['bit', 'id', 'active when', 'debounce', 'stops', 'lets go'],
    CUTOFFS.map((row, bit) => [
      String(bit),
      code(row.id),
      row.when,
      row.debounce,
      row.stops,
      row.letsGo,
    ]),
  );
}

function cutoffsWhyTable(): string {
  return markdownTable(
    ['cutoff', 'protects from'],
    CUTOFFS.map((row) => [code(row.id), row.why]),
  );
}

function reasonsTable(): string {
  return markdownTable(
    ['reason', 'group', 'what it says'],
    REASONS.map((row) => [code(row.id), row.group, row.sentence]),
  );
}

function lampTable(): string {
  return markdownTable(
    ['lamp', 'meaning'],
    LAMPS.map((row) => [code(row.id), row.meaning]),
  );
}

function eventsTable(): string {
  return markdownTable(
    ['event', 'severity', 'argument', 'sentence'],
    EVENTS.map((row) => [code(row.id), row.severity, row.argument, row.sentence]),
  );
}

interface InputWords {
  readonly unit: string;
  /** Which readings are believed. */
  readonly band: string;
  readonly needed: string;
}

function tenths(min: number, max: number): string {
  return `${min / 10}..${max / 10}`;
}

const TEMPERATURE_BAND = `${tenths(LIMITS.temperatureDcMin, LIMITS.temperatureDcMax)} degC`;

const INPUT_WORDS: Readonly<Record<InputName, InputWords>> = {
  rpm: { unit: '1/min', band: `0..\`rpmMax\`, at most ${LIMITS.rpmBandMax}`, needed: 'yes' },
  boost: {
    unit: 'hPa',
    band: `${LIMITS.boostHpaMin}..${LIMITS.boostHpaMax} hPa`,
    needed: 'yes',
  },
  charge: { unit: '0.1 degC', band: TEMPERATURE_BAND, needed: 'yes' },
  ambient: {
    unit: '0.1 degC',
    band: TEMPERATURE_BAND,
    needed: 'unless `frostSensor` is `absent-accepted`',
  },
  humidity: { unit: 'permille', band: `${tenths(0, LIMITS.humidityPmMax)} %`, needed: 'no' },
  speed: { unit: '0.1 km/h', band: `${tenths(0, LIMITS.speedDkmhMax)} km/h`, needed: 'no' },
  level: {
    unit: 'a switch: 1 wet, 0 low; a gauge: ul',
    band: `0..1; 0..${LIMITS.levelUlMax / 1e6} L`,
    needed: 'no',
  },
  supply: { unit: 'mV', band: `0..${LIMITS.supplyMvMax / 1000} V`, needed: 'on a board' },
  feedback: { unit: '0 or 1', band: '', needed: 'on a board' },
};

function inputsTable(): string {
  return markdownTable(
    ['input', 'bits of `health`', 'unit', 'believed', 'needed'],
    INPUTS.map((name, index) => {
      const { unit, band, needed } = INPUT_WORDS[name];
      return [code(name), `${3 * index}..${3 * index + 2}`, unit, band, needed];
    }),
  );
}

const HEALTH_SENTENCES: Readonly<Record<(typeof HEALTH_WORDS)[number], string>> = {
  ok: 'the reading is believed, or the input is not fitted',
  low: 'under its band: reading or code',
  high: 'over its band: reading or code',
  jump: 'a step larger than the quantity can make in 100 ms (codes only)',
  frozen: 'a boost code that stands while engine speed moves (codes only)',
  late: 'not read anew for too long',
  lost: "rpm: boost without engine speed; boost: the sensor's rail is out of its band",
};

function healthTable(): string {
  return markdownTable(
    ['value', 'word', 'meaning'],
    HEALTH_WORDS.map((word, value) => [String(value), code(word), HEALTH_SENTENCES[word]]),
  );
}

function messagesTable(): string {
  return markdownTable(
    ['code', 'exit code', 'what happened', 'what to do'],
    Object.entries(MESSAGES).map(([name, row]) => [
      code(name),
      String(row.exit),
      row.about,
      row.remedy,
    ]),
  );
}

const TICK_SENTENCES: Readonly<Record<(typeof TICK_COLUMNS)[number], string>> = {
  time_ms: 'time since the first usable row, ms; 20 more in every row',
  rpm: 'engine speed, 1/min',
  boost_hpa: 'boost, hPa gauge',
  charge_dc: 'charge temperature, 0.1 degC',
  ambient_dc: 'ambient temperature, 0.1 degC',
  speed_dkmh: 'vehicle speed, 0.1 km/h',
  supply_mv: 'supply voltage, mV',
  humidity_pm: 'relative humidity, permille',
  level: 'a switch: 1 wet, 0 low; a gauge: microlitres',
  feedback: "state of the pump's low side, 0 or 1",
  armed: 'arm switch closed',
  stage: 'stage switch closed',
  button: 'button pressed',
  health: 'three bits an input, hexadecimal; 0x0 is all well',
  demand: 'the thresholds ask for mist',
  spray: 'the pump is commanded on',
  enable: 'the enable output is closed',
  reason: 'why it sprays, or the first thing that stops it',
  cutoffs: 'all active cutoffs, bit by bit, hexadecimal',
  duty_pm: 'share of spray in the duty window, permille, counted conservatively',
  tank_ul: 'estimate of the water left after this tick, microlitres',
  stage_left_ms: 'time left of the ration, ms; 0 if none runs',
  lamp: 'what the lamp shows',
};

function tickColumnsTable(): string {
  return markdownTable(
    ['column', 'what it is'],
    TICK_COLUMNS.map((name) => [code(name), TICK_SENTENCES[name]]),
  );
}
