/**
 * Events: the table's rows, and the ring that keeps the latest of them.
 */
import { describe, expect, it } from 'vitest';
import { Event, EVENT_RING, EVENTS, makeEvents, makeZeros, note } from '../../controller/events.js';
import { TIME_MASK } from '../../controller/integer.js';
import { scenario } from './scenario.js';

describe('The table of events', () => {
  it('has a row for each event, with an id of its own', () => {
    expect(new Set(EVENTS.map((row) => row.id)).size).toBe(EVENTS.length);
    expect(EVENTS[Event.CutoffBegan].id).toBe('cutoff-began');
    expect(EVENTS[Event.ReferencePressure].id).toBe('reference-pressure');
    expect(EVENTS.length).toBe(Event.ReferencePressure + 1);
  });

  it('shows an argument in a sentence exactly where the event has one', () => {
    for (const row of EVENTS) {
      expect(row.sentence.includes('{}'), row.id).toBe(row.argument !== 'none');
    }
  });
});

describe('The ring of events', () => {
  it('is a power of two, and starts with nothing told', () => {
    expect(EVENT_RING & (EVENT_RING - 1)).toBe(0);
    expect(makeEvents().total).toBe(0);
    expect(makeZeros(3)).toEqual([0, 0, 0]);
  });

  it('keeps the latest; the oldest gives way', () => {
    const events = makeEvents();
    for (let turn = 0; turn < EVENT_RING + 3; turn++)
      note(events, Event.SprayEnded, turn, turn * 20);
    expect(events.total).toBe(EVENT_RING + 3);
    expect(events.details[2]).toBe(EVENT_RING + 2);
    expect(events.timesMs[2]).toBe((EVENT_RING + 2) * 20);
    expect(events.details[3]).toBe(3);
    expect(events.ids[0]).toBe(Event.SprayEnded);
  });

  it('goes on when the count of events wraps', () => {
    const events = makeEvents();
    events.total = TIME_MASK;
    note(events, Event.Refilled, 7, 1);
    expect(events.total).toBe(0);
    expect(events.details[EVENT_RING - 1]).toBe(7);
  });
});

describe('What a run tells', () => {
  it('a spray begins with its kind and ends with its length', () => {
    const car = scenario();
    car.run(5000);
    expect(car.events.filter((event) => event.id.startsWith('spray'))).toEqual([
      { id: 'spray-began', argument: 'automatic', ms: 0 },
      { id: 'spray-ended', argument: 3000, ms: 3000 },
    ]);
  });

  it('a cutoff begins and ends by its name', () => {
    const car = scenario();
    car.run(1000);
    car.run(1000, { arm: 0 });
    car.run(1000, { arm: 1 });
    expect(car.events.filter((event) => event.id.startsWith('cutoff'))).toEqual([
      { id: 'cutoff-began', argument: 'disarmed', ms: 1040 },
      { id: 'cutoff-ended', argument: 'disarmed', ms: 2040 },
    ]);
  });
});
