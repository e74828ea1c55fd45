/**
 * Sleep on the emulated chip: an interrupt that is pending already ends WFI at once, as on silicon, although
 * nothing rings.
 */
import { describe, expect, it } from 'vitest';
import { boardWith, HAS_IMAGE, NEEDS_IMAGE, READY, smallBundle } from '../kit.js';

const TIMER_0 = 1;

describe.skipIf(!HAS_IMAGE)(`the sleeping chip${NEEDS_IMAGE}`, () => {
  it('is woken by what came while it was masked, not by the next thing that comes', () => {
    const board = boardWith(smallBundle(READY));
    board.powerOn();
    board.runTicks(5);
    const { core } = board.mcu;
    // Asleep, and nothing rings within the next 20 us.
    const isDeep = () => core.waiting && board.clock.soonestNanos > board.clock.nanos + 20e3;
    expect(board.runUntil(isDeep, 20, 0.003)).toBe(true);
    const asleep = core.cycles;
    board.runMs(0.005);
    expect(core.cycles).toBe(asleep);
    core.pendingInterrupts |= TIMER_0;
    board.runMs(0.005);
    expect(core.cycles).toBeGreaterThan(asleep);
  });
});
