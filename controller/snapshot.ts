/**
 * The state as one flat list of integers, by the field lists of STATE_FIELDS, sorted by name: copied out, put
 * back, compared, and checked against the documented ranges. For the host, the recorder and the
 * tests; a tick uses none of it.
 */
import { STATE_FIELDS, type State } from './core.js';
import { sortedNames, type Range } from './fields.js';

type Values = { [name: string]: number | number[] };

/** A record of the state with its fields, in the order of a snapshot. */
interface Group {
  readonly name: keyof State;
  readonly fields: { readonly [name: string]: Range };
  readonly names: readonly string[];
}

/** The records by name, the fields of each by name: the order of the bundle's words too. */
const GROUPS: readonly Group[] = STATE_FIELDS.map(([name, fields]) => ({
  name,
  fields,
  names: sortedNames(fields),
})).sort((left, right) => (left.name < right.name ? -1 : 1));

/** Copies the whole state; the same core can be put back to it with `restore`. */
export function snapshot(state: State): number[] {
  const copy: number[] = [];
  for (const { name: groupName, names } of GROUPS) {
    const values = state[groupName] as unknown as Values;
    for (let at = 0; at < names.length; at++) {
      const value = values[names[at]];
      if (typeof value === 'number') copy.push(value);
      else for (let index = 0; index < value.length; index++) copy.push(value[index]);
    }
  }
  return copy;
}

/** Puts the state back to a snapshot of a state of the same shape. */
export function restore(state: State, copy: readonly number[]): void {
  let next = 0;
  for (const { name: groupName, names } of GROUPS) {
    const values = state[groupName] as unknown as Values;
    for (let at = 0; at < names.length; at++) {
      const value = values[names[at]];
      if (typeof value === 'number') values[names[at]] = copy[next++]!;
      else for (let index = 0; index < value.length; index++) value[index] = copy[next++]!;
    }
  }
}

/** The name of every number of a snapshot, e.g. 'account.slotsMs[3]'. */
export function fieldNames(state: State): string[] {
  const list: string[] = [];
  for (const { name: groupName, names } of GROUPS) {
    const values = state[groupName] as unknown as Values;
    for (let at = 0; at < names.length; at++) {
      const name = groupName + '.' + names[at];
      const value = values[names[at]];
      if (typeof value === 'number') list.push(name);
      else for (let index = 0; index < value.length; index++) list.push(name + '[' + index + ']');
    }
  }
  return list;
}

/** The first field in which two snapshots differ, in words; an empty string if none does. */
export function firstDifference(
  state: State,
  left: readonly number[],
  right: readonly number[],
): string {
  const names = fieldNames(state);
  for (let index = 0; index < names.length; index++) {
    if (left[index] === right[index]) continue;
    return names[index] + ' is ' + left[index] + ' here and ' + right[index] + ' there';
  }
  return '';
}

/** The first field out of its documented range, in words; an empty string if none is. */
export function firstOutOfRange(state: State): string {
  for (const { name: groupName, fields, names } of GROUPS) {
    const values = state[groupName] as unknown as Values;
    for (let at = 0; at < names.length; at++) {
      const name = names[at];
      const range = fields[name];
      const value = values[name];
      const list = typeof value === 'number' ? [value] : value;
      for (let index = 0; index < list.length; index++) {
        const found = list[index];
        if (found >= range[0] && found <= range[1] && (found | 0) === found) continue;
        const where = groupName + '.' + name;
        return where + ' is ' + found + ', outside ' + range[0] + '..' + range[1];
      }
    }
  }
  return '';
}
