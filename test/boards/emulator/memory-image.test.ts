/**
 * The copy of a machine from which many runs start: whatever hung on it comes back to what it was,
 * in the same objects, and what was left out stays as it is.
 */
import { expect, test } from 'vitest';
import { capture } from '../../../boards/emulator/memory-image.js';

function makeMachine() {
  const memory = new Uint8Array([1, 2, 3]);
  const list: number[] = [7, 8];
  const part = { count: 1, owner: undefined as object | undefined };
  const machine = {
    memory,
    list,
    part,
    names: new Map([['a', 1]]),
    pins: new Set([4]),
    outside: { seen: 0 },
    whole: new DataView(memory.buffer),
  };
  part.owner = machine;
  return machine;
}

test('restores numbers, arrays, typed arrays, maps and sets, in the same objects', () => {
  const machine = makeMachine();
  const { memory, list, part, names, pins } = machine;
  const image = capture([machine]);
  memory[1] = 99;
  list.push(9, 10);
  part.count = 5;
  names.set('b', 2);
  names.delete('a');
  pins.add(6);
  machine.list = [];
  image.restore();
  expect(machine.list).toBe(list);
  expect([...memory]).toEqual([1, 2, 3]);
  expect(list).toEqual([7, 8]);
  expect(machine.part).toBe(part);
  expect(part.count).toBe(1);
  expect([...names]).toEqual([['a', 1]]);
  expect([...pins]).toEqual([4]);
  // A view sees the bytes come back, since the bytes are the same.
  expect(machine.whole.getUint8(1)).toBe(2);
});

test('can be restored again and again', () => {
  const machine = makeMachine();
  const image = capture([machine]);
  for (let round = 0; round < 3; round++) {
    machine.memory[0] += 1;
    machine.list.pop();
    image.restore();
    expect([...machine.memory, ...machine.list]).toEqual([1, 2, 3, 7, 8]);
  }
});

test('what is left out keeps what it has learnt', () => {
  const machine = makeMachine();
  const image = capture([machine], [machine.outside]);
  machine.outside.seen = 3;
  machine.part.count = 3;
  image.restore();
  expect(machine.outside.seen).toBe(3);
  expect(machine.part.count).toBe(1);
});
