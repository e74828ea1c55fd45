/**
 * One look at a running controller as plain data: what `watch --json` prints a line of, and what the
 * workbench's page draws. Values in the units that stand beside them; times in ms of the controller.
 */
import type { InputName } from '../../controller/readings.js';

export interface LookReading {
  readonly input: InputName;
  readonly value: number;
  readonly unit: string;
  readonly health: string;
}

export interface Look {
  readonly tick: number;
  readonly nowMs: number;
  readonly readings: readonly LookReading[];
  readonly armed: boolean;
  readonly button: boolean;
  readonly mode: 'service' | 'stage' | 'road';
  readonly pump: boolean;
  readonly enable: boolean;
  readonly reason: string;
  readonly cutoffs: readonly string[];
  readonly demand: number;
  readonly dutyPercent: number;
  readonly tankL: number;
  readonly tankKnown: boolean;
  readonly stageLeftS: number;
  readonly lamp: string;
}
