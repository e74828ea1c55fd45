/**
 * Readings taken live from a controller into a readings file: the person types what is true, the device gives
 * its codes, which are averaged over some looks and told with their spread. The file is what a person would have
 * typed; whatever is wrong with it is said at once, and the point can be typed again.
 */
import { parseDocument, type Document } from 'yaml';
import { Fault } from '../fault.js';
import type { Carried, Device } from '../link/device.js';
import { MessageType, readStatus } from '../link/messages.js';
import type { Hands } from '../selftest/hands.js';
import type { Person } from '../selftest/person.js';
import { LevelKind } from '../../controller/calibration.js';
import type { Measured } from './group-reader.js';
import {
  averageOf,
  isSteady,
  LIVE,
  namedCodes,
  type Averaged,
  type LiveName,
} from './live-inputs.js';
import { parseReadings, READINGS_KIND, READINGS_VERSION } from './readings.js';

/** Filter and analogue switch have followed by then. */
const SETTLE_MS = 1500;
const LOOKS = 20;
const LOOK_EVERY_MS = 100;
const DONE = 'done';

export interface LiveOptions {
  readonly inputs: readonly LiveName[];
  /** The day, as in 2026-05-02. */
  readonly date: string;
  /** How sentences call the readings file. */
  readonly name: string;
}

/** Measures each input in turn; gives the text of the readings file. `had` is the file as it was. */
export async function measureLive(
  device: Device,
  carried: Carried,
  { person, hands }: { readonly person: Person; readonly hands: Hands },
  had: string | undefined,
  options: LiveOptions,
): Promise<string> {
  const session = new LiveSession(device, person, hands, had ?? newFile(options.date), options);
  for (const input of options.inputs) {
    requireReadable(input, carried);
    await session.measure(input);
  }
  return session.text;
}

function newFile(date: string): string {
  return `kind: ${READINGS_KIND}\nversion: ${READINGS_VERSION}\nboard: pico\ndate: ${date}\n`;
}

/** Throws E-CALIBRATE-13 if the controller does not hand over codes of an input. */
function requireReadable(input: LiveName, { calibration }: Carried): void {
  const cannot = (why: string) =>
    new Fault('E-CALIBRATE-13', `${input} cannot be read live: ${why}`);
  if ((calibration.fitted & LIVE[input].fitted) === 0) {
    throw cannot(
      'the calibration of the controller says that it is not fitted; pack one that has it',
    );
  }
  if (input === 'level' && calibration.levelKind === LevelKind.Switch) {
    throw cannot('the calibration of the controller has a float switch, which is not measured');
  }
}

class LiveSession {
  constructor(
    private readonly device: Device,
    private readonly person: Person,
    private readonly hands: Hands,
    public text: string,
    private readonly options: LiveOptions,
  ) {
    const { date, name } = options;
    const written = parseDocument(text).get('date');
    if (String(written) === date) return;
    const sentence = `${name} was measured on ${String(written)}; what is read today, ${date}, goes into a file of its own`;
    throw new Fault('E-CALIBRATE-13', sentence, { file: name });
  }

  /** All points of an input, or its single one. */
  async measure(input: LiveName): Promise<void> {
    const { ask, field } = LIVE[input];
    const isSingle = typeof field !== 'string';
    this.begin(input);
    for (let points = 0; ;) {
      const end = isSingle ? '' : `, or ${DONE}`;
      const typed = await this.person.ask(`${input}: ${ask}${end}:`);
      if (typed === DONE && points > 0 && !isSingle) return;
      if (await this.take(input, typed)) points++;
      if (isSingle && points > 0) return;
    }
  }

  /** What was measured of this input before goes. */
  private begin(input: LiveName): void {
    this.edit((document) => document.delete(input));
  }

  /** One point; false if it is not kept, which was said. */
  private async take(input: LiveName, typed: string): Promise<boolean> {
    const truth = this.truthOf(input, typed);
    if (typeof truth === 'string') {
      this.person.tell(truth);
      return false;
    }
    this.hands.move(LIVE[input].move(truth));
    const seen = await this.look(input);
    const said = seen && sayAveraged(input, seen);
    if (seen === undefined || !isSteady(LIVE[input], seen)) {
      this.person.tell(
        said === undefined
          ? `${input}: nothing is read; look at its wire, and type the point again.`
          : `${said}: not steady, and not kept; wait, and type the point again.`,
      );
      return false;
    }
    const before = this.text;
    this.write(input, typed, seen.mean);
    const problem = this.problem();
    if (problem !== '') {
      this.text = before;
      this.person.tell(`${problem}; not kept.`);
      return false;
    }
    this.person.tell(`${said}: kept.`);
    return true;
  }

  /** The true value in its usual unit, or what is wrong with it. Any reading stands in for the one to come. */
  private truthOf(input: LiveName, typed: string): number | string {
    const before = this.text;
    this.write(input, typed, PLACEHOLDER);
    const problem = this.problem();
    const group =
      problem === '' ? parseReadings(this.text, this.options.name).groups.get(input) : undefined;
    this.text = before;
    if (group === undefined) return `${problem}; type it again.`;
    const { field } = LIVE[input];
    if (typeof field !== 'string') return group.fields.get(field[0]) as number;
    const points = group.fields.get(field) as readonly Measured[];
    return points[points.length - 1].truth;
  }

  /** What the reader of readings files says against the text; '' if nothing. */
  private problem(): string {
    try {
      parseReadings(this.text, this.options.name);
      return '';
    } catch (error) {
      if (error instanceof Fault) return error.message;
      throw error;
    }
  }

  private async look(input: LiveName): Promise<Averaged | undefined> {
    const { client } = this.device;
    await client.wait(SETTLE_MS);
    const values: number[] = [];
    for (let at = 0; at < LOOKS; at++) {
      const status = readStatus(await client.demand('no status', MessageType.Status));
      values.push(LIVE[input].read(namedCodes(status.codes)));
      await client.wait(LOOK_EVERY_MS);
    }
    return averageOf(values);
  }

  private write(input: LiveName, typed: string, mean: number): void {
    const { field, unit, decimals } = LIVE[input];
    const read = unit === '' ? Number(mean.toFixed(decimals)) : `${mean.toFixed(decimals)} ${unit}`;
    const path =
      typeof field === 'string'
        ? [[input, field, typed, read]]
        : [
            [input, field[0], typed],
            [input, field[1], read],
          ];
    this.edit((document) => {
      for (const keys of path) document.setIn(keys.slice(0, -1), keys[keys.length - 1]);
    });
  }

  private edit(change: (document: Document) => void): void {
    const document = parseDocument(this.text, { schema: 'core', version: '1.2' });
    change(document);
    this.text = document.toString({ lineWidth: 0 });
  }
}

/** Within the bounds of every reading. */
const PLACEHOLDER = 50;

function sayAveraged(input: LiveName, { mean, min, max, count }: Averaged): string {
  const { unit, decimals } = LIVE[input];
  const text = (value: number) => value.toFixed(decimals);
  const what = unit === '' ? 'code ' : '';
  return `${input}: ${what}${text(mean)}${unit === '' ? '' : ` ${unit}`}, mean of ${count} looks from ${text(min)} to ${text(max)}`;
}
