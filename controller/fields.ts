/**
 * The one field list of the state: for every record of state, each field with the range it may
 * take. Snapshot, compare, restore and the range checks walk these lists and nothing else, so a
 * field that is not listed does not compile.
 */

/** Lowest and highest value of a field (of every element, if the field is an array). */
export type Range = readonly [min: number, max: number];

/** A range for every field of a record. */
export type Fields<Record> = { readonly [Name in keyof Record]: Range };

export const FLAG: Range = [0, 1];
export const TIME: Range = [0, 0x3fffffff];
export const WORD: Range = [0, 0x3fffffff];

/**
 * The names of a record's fields in the one order in which state is listed: sorted. The order in which
 * an object has its names is the engine's own affair.
 */
export function sortedNames(record: object): string[] {
  return Object.keys(record).sort();
}
