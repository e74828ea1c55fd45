/**
 * A copy of everything that changes in a machine, and the way back to it. It takes the objects a
 * machine consists of, follows every reference, and keeps for each object the values of its fields;
 * `restore` writes them back into the same objects, so that callbacks and references between them
 * hold. Many test runs start from one booted machine this way.
 */

type Fields = readonly (readonly [name: string, value: unknown])[];

interface Kept {
  readonly object: object;
  readonly fields: Fields;
  /** The content of a typed array, of a Set or of a Map; undefined for plain objects. */
  readonly content: TypedContent | readonly unknown[] | undefined;
}

type TypedContent = Uint8Array | Uint16Array | Uint32Array | Int32Array | Float64Array;

/** What `capture` gives. */
export class MemoryImage {
  constructor(private readonly kept: readonly Kept[]) {}

  /** Puts every object back to what it was. */
  restore(): void {
    for (const { object, fields, content } of this.kept) {
      if (isTyped(object)) {
        object.set(content as TypedContent);
        continue;
      }
      if (object instanceof Set) refill(object, content as readonly unknown[]);
      else if (object instanceof Map) refillMap(object, content as readonly [unknown, unknown][]);
      else if (Array.isArray(object)) object.length = fields.length;
      const target = object as Record<string, unknown>;
      for (const [name, value] of fields) target[name] = value;
    }
  }
}

/**
 * Copies what hangs on `roots`. Objects of `leftOut` (and what only they refer to) stay as they are:
 * code, tables and the outside world.
 */
export function capture(roots: readonly object[], leftOut: readonly object[] = []): MemoryImage {
  const seen = new Set<object>(leftOut);
  const kept: Kept[] = [];
  const pending: object[] = [...roots];
  for (let object = pending.pop(); object !== undefined; object = pending.pop()) {
    if (seen.has(object)) continue;
    seen.add(object);
    kept.push(keep(object, pending));
  }
  return new MemoryImage(kept);
}

function keep(object: object, pending: object[]): Kept {
  if (isTyped(object)) return { object, fields: [], content: object.slice() };
  const fields: [string, unknown][] = [];
  for (const name of Object.keys(object)) {
    const descriptor = Object.getOwnPropertyDescriptor(object, name);
    if (descriptor === undefined || !descriptor.writable) continue;
    const value: unknown = descriptor.value;
    fields.push([name, value]);
    if (isFollowed(value)) pending.push(value);
  }
  if (object instanceof Map) return { object, fields, content: [...object.entries()] };
  if (object instanceof Set) return { object, fields, content: [...object.values()] };
  return { object, fields, content: undefined };
}

/** A view of a buffer is left to the typed array over the same buffer; functions have no state. */
function isFollowed(value: unknown): value is object {
  if (typeof value !== 'object' || value === null) return false;
  return !(value instanceof DataView || value instanceof ArrayBuffer);
}

function isTyped(object: object): object is TypedContent {
  return ArrayBuffer.isView(object) && !(object instanceof DataView);
}

function refill(set: Set<unknown>, content: readonly unknown[]): void {
  set.clear();
  for (const value of content) set.add(value);
}

function refillMap(map: Map<unknown, unknown>, content: readonly [unknown, unknown][]): void {
  map.clear();
  for (const [key, value] of content) map.set(key, value);
}
