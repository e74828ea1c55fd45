/**
 * The board's front-end circuits (boards/pico/circuits/*.cir) as a list of parts: each element line
 * holds nodes and value for the simulator, and behind a semicolon the rating and the reason. Gives values
 * in SI units. Nothing is simulated here.
 */
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { packagePath } from '../package-folder.js';

/** One part of a circuit. */
export interface Part {
  /** As in the netlist: `R_pullUp`. */
  readonly name: string;
  /** Its value in ohm or farad; NaN where it has none (a diode, a transistor). */
  readonly value: number;
  /** The value or model as written: `2.2k`, `SCHOTTKY_SMALL`. */
  readonly written: string;
  /** Tolerance and what it must stand. */
  readonly rating: string;
  /** Tolerance as a share of one; 0 where none is said. */
  readonly tolerance: number;
  readonly why: string;
}

export interface Circuit {
  /** The file's name without its ending. */
  readonly name: string;
  /** The comment it begins with. */
  readonly what: string;
  readonly parts: readonly Part[];
}

const FOLDER = 'boards/pico/circuits';
const ELEMENT = /^([A-Z])_(\w+)\s+(.*?)\s*;\s*(.*?)\s*\|\s*(.*?)\s*$/u;
const PREFIXES: Readonly<Record<string, number>> = {
  '': 1,
  p: 1e-12,
  n: 1e-9,
  u: 1e-6,
  m: 1e-3,
  k: 1e3,
  meg: 1e6,
};

/** All circuits by name. Throws an Error if an element line says no rating and reason. */
export function readCircuits(folder = packagePath(FOLDER)): ReadonlyMap<string, Circuit> {
  const files = readdirSync(folder).filter((file) => file.endsWith('.cir'));
  return new Map(
    files.sort().map((file) => {
      const name = file.slice(0, -'.cir'.length);
      return [name, parseCircuit(name, readFileSync(path.join(folder, file), 'utf8'))];
    }),
  );
}

/** A circuit from its text. */
export function parseCircuit(name: string, text: string): Circuit {
  const lines = text.split('\n');
  const from = lines.findIndex((line) => !line.startsWith('*'));
  const comment = lines.slice(0, from).map((line) => line.slice(1).trim());
  const what = comment.filter((line) => !line.startsWith('Each part:')).join(' ');
  const elements = lines.filter((line) => /^[A-Z]_/u.test(line));
  return { name, what, parts: elements.map((line) => parsePart(name, line)) };
}

function parsePart(circuit: string, line: string): Part {
  const found = ELEMENT.exec(line);
  if (!found) throw new Error(`${circuit}.cir: '${line}' says no rating and reason`);
  const [, letter, name, nodes, rating, why] = found;
  const written = nodes.split(/\s+/u).at(-1) ?? '';
  const isValue = letter === 'R' || letter === 'C' || letter === 'L';
  const tolerance = /(\d+(?:\.\d+)?) %/u.exec(rating)?.[1];
  return {
    name: `${letter}_${name}`,
    value: isValue ? parseValue(written) : NaN,
    written,
    rating,
    tolerance: tolerance === undefined ? 0 : Number(tolerance) / 100,
    why,
  };
}

/** A value as the simulator writes it: `2.2k`, `470n`. NaN if it is none. */
export function parseValue(text: string): number {
  const found = /^(\d+(?:\.\d+)?)(p|n|u|m|k|meg)?$/u.exec(text);
  // Powers of ten are exact only where they are written as one number.
  return found ? Number(`${found[1]}e${Math.log10(PREFIXES[found[2] ?? ''])}`) : NaN;
}

/** A part of a circuit. Throws an Error if there is none of that name. */
export function partOf(
  circuits: ReadonlyMap<string, Circuit>,
  circuit: string,
  name: string,
): Part {
  const part = circuits.get(circuit)?.parts.find((each) => each.name === name);
  if (part) return part;
  throw new Error(`${circuit}.cir has no part ${name}`);
}
