/**
 * The loom of board pico: boards/pico/wiring.json against pins.json, and what wire and fuse the pump's
 * side needs by the rules of host-sim/plan. Currents in A, lengths in m, cross-sections in mm2.
 */
import { readFileSync } from 'node:fs';
import { packagePath } from '../package-folder.js';
import { chooseFuse, INRUSH_FACTOR, INRUSH_MS } from '../plan/fuse.js';
import { chooseWire, voltageDrop } from '../plan/wire.js';

export interface Wire {
  /** Connector and contact: `P1`. */
  readonly at: string;
  readonly to: string;
  readonly name: string;
  /** A netlist of boards/pico/circuits, or nothing. */
  readonly circuit: string;
  /** A pin of pins.json or an input of its analogue switch, or nothing. */
  readonly pin: string;
  readonly amperes: number | 'pump';
}

export interface Wiring {
  readonly connectors: readonly {
    readonly id: string;
    readonly what: string;
    readonly place: 'left' | 'right';
  }[];
  readonly wires: readonly Wire[];
  readonly inside: readonly {
    readonly pin: string;
    readonly circuit: string;
    readonly what: string;
  }[];
}

export interface PinFacts {
  readonly pins: readonly {
    readonly name: string;
    readonly gpio: number;
    readonly why: string;
    readonly safe: string;
    readonly direction: string;
  }[];
  readonly switch: { readonly inputs: Readonly<Record<string, string>> };
}

function json(file: string): unknown {
  return JSON.parse(readFileSync(packagePath(file), 'utf8'));
}

/** The loom of board pico. */
export function readWiring(): Wiring {
  return json('boards/pico/wiring.json') as Wiring;
}

/** The pins of board pico. */
export function readPins(): PinFacts {
  return json('boards/pico/pins.json') as PinFacts;
}

/** Where a name is on the chip: `GPIO 26`, or the channel of the analogue switch. */
export function placeOf({ pins, switch: { inputs } }: PinFacts, name: string): string {
  const pin = pins.find((each) => each.name === name);
  if (pin) return `GPIO ${pin.gpio}`;
  const channel = Object.entries(inputs).find(([, input]) => input === name)?.[0];
  return channel === undefined ? '' : `switch channel ${channel}`;
}

/** Names of the loom that the board does not have, and pins of the board that the loom forgets. */
export function wiringFaults({ wires, inside }: Wiring, facts: PinFacts): string[] {
  const named = [...wires, ...inside].map(({ pin }) => pin).filter((pin) => pin !== '');
  const unknown = named.filter((pin) => placeOf(facts, pin) === '');
  // The board has no pin for humidity: it is a spare channel.
  const all = [...facts.pins.map(({ name }) => name), ...Object.values(facts.switch.inputs)];
  const forgotten = all.filter((name) => !named.includes(name) && name !== 'humidity');
  return [
    ...unknown.map((name) => `${name} is wired and no pin`),
    ...forgotten.map((name) => `${name} is a pin and not wired`),
  ];
}

/** Most that the wires to the pump may lose, there and back: 3 % of 12 V (common practice: 3 to 5 %). */
export const DROP_MAX_V = 0.36;
/** A loom in a warm engine bay. */
export const LOOM_DEGC = 85;
/** Of the fuse: the controller beside the pump. */
const CONTROLLER_A = 0.2;

/** Fuse and wire for a pump. */
export interface PumpWire {
  readonly pumpA: number;
  readonly lengthM: number;
  readonly fuseA: number | undefined;
  readonly mm2: number | undefined;
  readonly dropV: number | undefined;
}

/** The smallest fuse that carries a pump's start, and the thinnest wire for it. */
export function pumpWire(pumpA: number, lengthM: number): PumpWire {
  const runningA = pumpA + CONTROLLER_A;
  const fuseA = chooseFuse({ runningA, inrushA: INRUSH_FACTOR * pumpA, inrushMs: INRUSH_MS });
  const run = { lengthM, degC: LOOM_DEGC };
  const size = fuseA === undefined ? undefined : chooseWire(runningA, run, DROP_MAX_V, fuseA);
  const dropV = size && voltageDrop(runningA, { ...run, mm2: size.mm2 });
  return { pumpA, lengthM, fuseA, mm2: size?.mm2, dropV };
}
