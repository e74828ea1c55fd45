/**
 * What the emulated board meets while it is watched: a built-in demo from its first row on, armed, with the
 * button pressed at the beginning as a driver who tells a refill would.
 */
import { initialSettings } from '../../controller/settings-check.js';
import { LIMITS } from '../../controller/limits.js';
import { Feed } from '../replay/feed.js';
import { demoTrace, type DemoName } from '../trace/demo.js';
import type { Scene } from './emulator.js';

/** Before it the engine is still and the arm switch open. */
const STILL_TICKS = 300;
const BUTTON_FROM_TICK = 50;
const BUTTON_TO_TICK = 250;

/** A demo as what stands on the pins, tick by tick; its last row stays. */
export function demoScene(name: DemoName): Scene {
  const feed = new Feed(demoTrace(name), 'hold', initialSettings().lateAfterMs);
  return (tick) => {
    if (tick < STILL_TICKS) {
      const isPressed = tick >= BUTTON_FROM_TICK && tick < BUTTON_TO_TICK;
      return { rpm: 0, boostHpa: 0, arm: 0, stage: 1, button: Number(isPressed) };
    }
    feed.at((tick - STILL_TICKS) * LIMITS.tickMs);
    return { ...feed.readings, button: 0 };
  };
}
