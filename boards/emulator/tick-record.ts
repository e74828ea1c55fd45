/**
 * What the image keeps in RAM about a tick, by symbol: `tick_phase`, the codes in `last_codes`, the
 * word in `last_output`, the digest in `last_digest` where `digest_wanted` asks for it, and what the
 * core was told at boot in `last_boot`. The order of the codes is that of controller/flat.ts.
 */
import { CODE_NAMES, FIRST_PERIOD_INDEX } from '../../controller/flat.js';
import type { Codes } from '../../controller/tick/1-calibrate.js';

/** Values of `tick_phase`. */
export const TickPhase = { Begun: 1, Told: 2, Over: 3 } as const;

/** Reads and writes words of RAM by symbol; a Board is one. */
export interface Memory {
  peek(name: string, index?: number): number;
  poke(name: string, value: number, index?: number): void;
}

/** The codes in RAM, into `into`. */
export function readCodes(memory: Memory, into: Codes): Codes {
  CODE_NAMES.forEach((name, index) => {
    const value = memory.peek('last_codes', index);
    if (name === 'periodsUs') into.periodsUs[index - FIRST_PERIOD_INDEX] = value;
    else into[name] = value;
  });
  return into;
}

/** Writes `codes` over those in RAM. */
export function writeCodes(memory: Memory, codes: Codes): void {
  CODE_NAMES.forEach((name, index) => {
    const value = name === 'periodsUs' ? codes.periodsUs[index - FIRST_PERIOD_INDEX] : codes[name];
    memory.poke('last_codes', value, index);
  });
}

/** How the shim says the chip came up, as it told the core. */
export interface BoardBoot {
  readonly powerOn: boolean;
  readonly afterRunning: boolean;
  readonly pumpStuckOn: boolean;
  readonly tankUl: number;
  readonly ambientHpa: number;
  readonly bench: boolean;
  readonly badPack: boolean;
}

/** What the core was told at the last boot. */
export function readBoot(memory: Memory): BoardBoot {
  const word = (index: number) => memory.peek('last_boot', index);
  return {
    powerOn: word(0) === 1,
    afterRunning: word(1) === 1,
    pumpStuckOn: word(2) === 1,
    tankUl: word(3),
    ambientHpa: word(4),
    bench: word(5) === 1,
    badPack: word(6) === 1,
  };
}
