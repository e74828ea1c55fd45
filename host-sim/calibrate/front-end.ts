/**
 * What lies between a sensor and the converter on a board, as far as a calibration needs it: nominal
 * values from the board's netlists (boards/pico/circuits) and its reference from pins.json. Ohm and V.
 */
import { readFileSync } from 'node:fs';
import type { BoardName } from '../calibration/boards.js';
import { partOf, readCircuits } from '../front-end/netlist.js';
import { packagePath } from '../package-folder.js';

export interface FrontEnd {
  readonly referenceV: number;
  /** From a thermistor or gauge up to the reference. */
  readonly pullUpOhm: number;
  readonly supplyUpperOhm: number;
  readonly supplyLowerOhm: number;
}

/** The nominal front end of a board. */
export function frontEndOf(board: BoardName): FrontEnd {
  const circuits = readCircuits(packagePath(`boards/${board}/circuits`));
  const pins = JSON.parse(readFileSync(packagePath(`boards/${board}/pins.json`), 'utf8')) as {
    readonly referenceMv: number;
  };
  return {
    referenceV: pins.referenceMv / 1000,
    pullUpOhm: partOf(circuits, 'thermistor', 'R_pullUp').value,
    supplyUpperOhm: partOf(circuits, 'supply-sense', 'R_upper').value,
    supplyLowerOhm: partOf(circuits, 'supply-sense', 'R_lower').value,
  };
}
