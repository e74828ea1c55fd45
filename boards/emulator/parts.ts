/**
 * The parts of the emulator (rp2040js 1.4.1) that the harness reaches into, with the types it does
 * not export. Field names are the emulator's own; `partsOf` checks that they are there, so that
 * another version of it fails here, with a sentence, and not by a wrong measurement.
 */
import type { Peripheral, RP2040 } from 'rp2040js';

/** As in the emulator's clock.d.ts. */
export type AlarmCallback = () => void;
export interface IAlarm {
  schedule(deltaNanos: number): void;
  cancel(): void;
}
export interface IClock {
  readonly nanos: number;
  createAlarm(callback: AlarmCallback): IAlarm;
}

/** Where a peripheral is in `RP2040.peripherals`: its address over 0x1000. */
export const PLACE = {
  xipControl: 0x14000,
  ssi: 0x18000,
  clocks: 0x40008,
  resets: 0x4000c,
  psm: 0x40010,
  io: 0x40014,
  pads: 0x4001c,
  uart0: 0x40034,
  adc: 0x4004c,
  timer: 0x40054,
  watchdog: 0x40058,
  rosc: 0x40060,
  chipReset: 0x40064,
} as const;

export interface TimerPart extends Peripheral {
  clock: { readonly nanos: number };
}

export interface WatchdogPart extends Peripheral {
  readonly scratchData: Uint32Array;
  enable: boolean;
  tickEnable: boolean;
  reason: number;
  onWatchdogTrigger: () => void;
  readonly timer: { enable: boolean };
  readonly alarm: { enable: boolean };
}

export interface Parts {
  readonly timer: TimerPart;
  readonly watchdog: WatchdogPart;
}

/** The parts by name. Throws an Error if the emulator is not the version this was written for. */
export function partsOf(mcu: RP2040): Parts {
  const timer = mcu.peripherals[PLACE.timer] as TimerPart;
  const watchdog = mcu.peripherals[PLACE.watchdog] as WatchdogPart;
  const missing = [
    ...['clock', 'alarms', 'intRaw'].filter((name) => !(name in timer)),
    ...['scratchData', 'tickEnable', 'reason', 'onWatchdogTrigger', 'timer', 'alarm'].filter(
      (name) => !(name in watchdog),
    ),
  ];
  if (missing.length === 0) return { timer, watchdog };
  throw new Error(`rp2040js is not version 1.4.1: it has no ${missing.join(', ')}`);
}
