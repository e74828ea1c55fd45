/**
 * Simulates the board's circuits (boards/pico/circuits) with ngspice: a few lines around one or more
 * of them, and what is to be looked at. Gives samples over time (or at the operating point) in volts,
 * amperes and seconds. `change` replaces a part's value, for tolerances and faults.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { packagePath } from '../../../host-sim/package-folder.js';

const FOLDER = packagePath('boards/pico/circuits');

/** False where ngspice is not installed: its tests are then skipped. */
export const HAS_SPICE = spawnSync('ngspice', ['--version'], { stdio: 'ignore' }).status === 0;
/** Stands in the title of a group that needs it. */
export const NEEDS_SPICE = HAS_SPICE ? '' : ' (skipped: apt-get install ngspice)';

export interface Simulation {
  /** Circuits by file name without ending; `models` comes along. */
  readonly circuits: readonly string[];
  /** Sources, loads and the `X` lines that place the circuits. */
  readonly around: readonly string[];
  /** `tran 10u 60m`, or `op`. */
  readonly analysis: string;
  /** Vectors by the name the test gives them: `{ pin: 'v(pin)' }`. */
  readonly look: Readonly<Record<string, string>>;
  /** New values, by circuit and part: `{ 'thermistor.R_pullUp': '2.222k' }`. */
  readonly change?: Readonly<Record<string, string>>;
  readonly degC?: number;
}

/** One vector over time. */
export class Wave {
  constructor(
    readonly times: readonly number[],
    readonly values: readonly number[],
  ) {}

  /** The value at a time, by a straight line between samples. */
  at(time: number): number {
    const after = this.times.findIndex((each) => each >= time);
    if (after < 0) return this.values[this.values.length - 1];
    if (after === 0) return this.values[0];
    const [a, b] = [this.times[after - 1], this.times[after]];
    const share = b > a ? (time - a) / (b - a) : 1;
    return this.values[after - 1] + share * (this.values[after] - this.values[after - 1]);
  }

  get last(): number {
    return this.values[this.values.length - 1];
  }

  get max(): number {
    return this.values.reduce((most, value) => Math.max(most, value), -Infinity);
  }

  get min(): number {
    return this.values.reduce((least, value) => Math.min(least, value), Infinity);
  }

  /** The same, between two times. */
  between(from: number, to: number): Wave {
    const inside = this.times.map((time) => time >= from && time <= to);
    return new Wave(
      this.times.filter((_, at) => inside[at]),
      this.values.filter((_, at) => inside[at]),
    );
  }

  /** Times at which it crosses a level, rising or falling. */
  crossings(level: number, direction: 'rising' | 'falling'): number[] {
    const found: number[] = [];
    for (let at = 1; at < this.values.length; at++) {
      const [before, now] = [this.values[at - 1] - level, this.values[at] - level];
      const crosses = direction === 'rising' ? before < 0 && now >= 0 : before >= 0 && now < 0;
      if (!crosses) continue;
      const share = before / (before - now);
      found.push(this.times[at - 1] + share * (this.times[at] - this.times[at - 1]));
    }
    return found;
  }

  /** The integral over time. */
  get sum(): number {
    let total = 0;
    for (let at = 1; at < this.values.length; at++) {
      const width = this.times[at] - this.times[at - 1];
      total += (width * (this.values[at] + this.values[at - 1])) / 2;
    }
    return total;
  }
}

/** Runs a simulation. Throws an Error with what ngspice said if it did not come to an end. */
export function simulate<Name extends string>(
  simulation: Simulation & { readonly look: Readonly<Record<Name, string>> },
): Readonly<Record<Name, Wave>> {
  const folder = mkdtempSync(path.join(tmpdir(), 'smirr-spice-'));
  try {
    const names = Object.keys(simulation.look) as Name[];
    const data = path.join(folder, 'out.txt');
    const net = path.join(folder, 'net.cir');
    writeFileSync(net, netlistOf(simulation, data));
    const { stdout, stderr } = spawnSync('ngspice', ['-b', net], { encoding: 'utf8', cwd: folder });
    const rows = readRows(data);
    if (rows.length === 0) throw new Error(`ngspice gave nothing:\n${stdout}\n${stderr}`);
    const times = rows.map((row) => row[0]);
    const waves = names.map((name, at) => {
      return [
        name,
        new Wave(
          times,
          rows.map((row) => row[at + 1]),
        ),
      ] as const;
    });
    return Object.fromEntries(waves) as Record<Name, Wave>;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function readRows(file: string): number[][] {
  try {
    return readFileSync(file, 'utf8')
      .trim()
      .split('\n')
      .map((line) => line.trim().split(/\s+/u).map(Number));
  } catch {
    return [];
  }
}

function netlistOf(simulation: Simulation, data: string): string {
  const { circuits, around, analysis, look, change = {}, degC = 25 } = simulation;
  const texts = circuits.map((name) => changed(name, change));
  const isPoint = analysis === 'op';
  return [
    'smirr',
    readFileSync(path.join(FOLDER, 'models.lib'), 'utf8'),
    ...texts,
    ...around,
    `.options temp=${degC} reltol=1e-4 gmin=1e-13`,
    '.control',
    'set wr_singlescale',
    // An operating point is one sample: a transient of nothing but its start.
    isPoint ? 'tran 1u 1u' : analysis,
    `wrdata ${data} ${Object.values(look).join(' ')}`,
    '.endc',
    '.end',
    '',
  ].join('\n');
}

/** A circuit's text with new values. Throws an Error if it has no such part. */
function changed(name: string, change: Readonly<Record<string, string>>): string {
  let text = readFileSync(path.join(FOLDER, `${name}.cir`), 'utf8');
  for (const [place, value] of Object.entries(change)) {
    const [circuit, part] = place.split('.');
    if (circuit !== name) continue;
    const line = new RegExp(`^(${part} .*?)\\S+( ;.*)$`, 'mu');
    if (!line.test(text)) throw new Error(`${name}.cir has no part ${part}`);
    text = text.replace(line, `$1${value}$2`);
  }
  return text;
}
