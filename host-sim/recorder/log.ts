/**
 * The run log as it lies in flash: sectors with a sequence each, in them pages, in them chunks with a CRC.
 * Takes the bytes of the region, gives its segments: each from a beginning (a boot, each 64 KB, a new
 * start) to the next, or to where something is missing. What a power cut spoilt is left out. Nothing
 * throws: whatever is there, what can be read of it is read. docs/recorder.md has the format.
 */
import { crc32 } from '../pack/crc.js';
import { ERASED, PAGE_BYTES, RUN_LOG, SECTOR_BYTES } from '../pack/flash-map.js';
import { Bits, CODE_COUNT, LogEnd, TickReader, unzigzag } from './tick-code.js';

/** `SML1` as a little-endian number. */
export const SECTOR_MAGIC = 0x314c4d53;
export const LOG_FORMAT = 1;
export const SECTOR_COUNT = RUN_LOG.length / SECTOR_BYTES;

const SECTOR_HEAD_BYTES = 12;
const CHUNK_HEAD_BYTES = 2;
const CHUNK_CRC_BYTES = 4;
const ChunkKind = { begin: 1, numbers: 2, event: 3, ticks: 0x80 } as const;
const BOOT_NUMBERS = 7;
const BEGIN_WORDS = 6;
const BEGIN_BYTES = 4 + 4 * (BEGIN_WORDS + BOOT_NUMBERS + CODE_COUNT);
const NUMBERS_HEAD_BYTES = 3;
/** A number of 32 bits takes at most five bytes of seven bits. */
const VARINT_BYTES_MAX = 5;

/** An event of the core, as the device noted it. */
export interface RecordedEvent {
  /** Which of all events since the boot, from 0. */
  readonly number: number;
  readonly id: number;
  readonly detail: number;
  readonly atMs: number;
}

/** What stands at the beginning of a segment. */
export interface Beginning {
  readonly isBoot: boolean;
  readonly layoutHash: number;
  readonly bundleCrc: number;
  readonly settingsSequence: number;
  /** Number of the tick that the beginning itself holds; a boot's first is 1. */
  readonly tick: number;
  readonly word: number;
  readonly codes: Int32Array;
  /** What the core was told at boot (BootNumber of controller/bundle.ts). */
  readonly boot: readonly number[];
  /** How many numbers each of these lists has when it is whole; a boot has no state. */
  readonly counts: readonly [state: number, settings: number, calibration: number];
}

type Item =
  | { readonly kind: 'ticks'; readonly count: number; readonly payload: Uint8Array }
  | { readonly kind: 'event'; readonly event: RecordedEvent };

/** Gets what a segment holds, in its order. The codes are the same array each time. */
export interface SegmentVisitor {
  tick(tick: number, codes: Int32Array, word: number): void;
  event?(event: RecordedEvent): void;
}

/** Ticks from a beginning on, without a gap. */
export class Segment {
  /** State after the tick of the beginning, settings, calibration, as far as they were written. */
  readonly lists: readonly [state: number[], settings: number[], calibration: number[]] = [
    [],
    [],
    [],
  ];
  /** Ticks, that of the beginning among them. */
  ticks = 1;
  private readonly items: Item[] = [];

  constructor(
    readonly begin: Beginning,
    /** Sequence of the sector it begins in. */
    readonly sequence: number,
  ) {}

  /** True if the list is there from its first number to its last. */
  isWhole(part: 0 | 1 | 2): boolean {
    return this.lists[part].length === this.begin.counts[part];
  }

  add(item: Item): void {
    this.items.push(item);
    if (item.kind === 'ticks') this.ticks += item.count;
  }

  /** Shows every tick and event. A tick that cannot be read ends it. */
  visit(visitor: SegmentVisitor): void {
    const reader = new TickReader(this.begin.codes, this.begin.word);
    let tick = this.begin.tick;
    visitor.tick(tick, reader.codes, reader.word);
    for (const item of this.items) {
      if (item.kind === 'event') {
        visitor.event?.(item.event);
        continue;
      }
      const bits = new Bits(item.payload);
      for (let count = 0; count < item.count; count++) {
        reader.read(bits);
        visitor.tick(++tick, reader.codes, reader.word);
      }
    }
  }
}

export interface RunLog {
  /** Oldest first. */
  readonly segments: readonly Segment[];
  /** Sectors that hold a part of it, and bytes of whole chunks in them. */
  readonly sectors: number;
  readonly bytes: number;
  /** Pages in which something could not be read. */
  readonly spoilt: number;
}

/** The sequence of a sector; 0 if it holds no part of the log. */
export function sectorSequence(sector: Uint8Array): number {
  const view = new DataView(sector.buffer, sector.byteOffset, sector.byteLength);
  if (view.getUint32(0, true) !== SECTOR_MAGIC) return 0;
  return view.getUint32(8, true) === crc32(sector.subarray(0, 8)) ? view.getUint32(4, true) : 0;
}

/** Reads the log out of the bytes of its region, from address 0x10086000 on. */
export function readLog(region: Uint8Array): RunLog {
  const sectors: { sequence: number; bytes: Uint8Array }[] = [];
  for (let at = 0; at + SECTOR_BYTES <= region.length; at += SECTOR_BYTES) {
    const bytes = region.subarray(at, at + SECTOR_BYTES);
    const sequence = sectorSequence(bytes);
    if (sequence > 0) sectors.push({ sequence, bytes });
  }
  sectors.sort((left, right) => left.sequence - right.sequence);
  const reader = new LogReader();
  for (const { sequence, bytes } of sectors) reader.readSector(sequence, bytes);
  const { segments, bytes, spoilt } = reader;
  return { segments, sectors: sectors.length, bytes, spoilt };
}

class LogReader {
  readonly segments: Segment[] = [];
  bytes = 0;
  spoilt = 0;
  private segment: Segment | undefined;
  private sequence = 0;

  readSector(sequence: number, bytes: Uint8Array): void {
    // A sector that is missing is a gap: what follows is understood from the next beginning on.
    if (sequence !== this.sequence + 1) this.segment = undefined;
    this.sequence = sequence;
    for (let at = 0; at < SECTOR_BYTES; at += PAGE_BYTES) {
      this.readPage(bytes.subarray(at, at + PAGE_BYTES), at === 0 ? SECTOR_HEAD_BYTES : 0);
    }
  }

  private readPage(page: Uint8Array, from: number): void {
    let at = from;
    while (at + CHUNK_HEAD_BYTES + CHUNK_CRC_BYTES <= PAGE_BYTES && page[at] !== ERASED) {
      const end = at + CHUNK_HEAD_BYTES + page[at];
      if (
        !isChunk(page, at, end) ||
        !this.take(page[at + 1], page.slice(at + CHUNK_HEAD_BYTES, end))
      ) {
        this.spoilt++;
        this.segment = undefined;
        return;
      }
      this.bytes += end + CHUNK_CRC_BYTES - at;
      at = end + CHUNK_CRC_BYTES;
    }
  }

  /** False if the chunk is none that this reader knows. */
  private take(kind: number, payload: Uint8Array): boolean {
    if (kind === ChunkKind.begin) return this.begin(payload);
    if (this.segment === undefined) return true;
    if (kind === ChunkKind.numbers) return addNumbers(this.segment, payload);
    if (kind === ChunkKind.event) return addEvent(this.segment, payload);
    if (kind <= ChunkKind.ticks) return false;
    this.segment.add({ kind: 'ticks', count: kind & 0x7f, payload });
    return true;
  }

  private begin(payload: Uint8Array): boolean {
    const beginning = readBeginning(payload);
    if (beginning === undefined) return false;
    this.segment = new Segment(beginning, this.sequence);
    this.segments.push(this.segment);
    return true;
  }
}

function isChunk(page: Uint8Array, at: number, end: number): boolean {
  if (end + CHUNK_CRC_BYTES > PAGE_BYTES) return false;
  const view = new DataView(page.buffer, page.byteOffset, page.byteLength);
  return view.getUint32(end, true) === crc32(page.subarray(at, end));
}

function readBeginning(payload: Uint8Array): Beginning | undefined {
  if (payload.length !== BEGIN_BYTES || payload[0] !== LOG_FORMAT) return undefined;
  const view = new DataView(payload.buffer, payload.byteOffset, payload.byteLength);
  const number = (index: number) => view.getInt32(4 + 4 * index, true);
  const unsigned = (index: number) => number(index) >>> 0;
  const counts = unsigned(4);
  const codes = Int32Array.from({ length: CODE_COUNT }, (_, at) =>
    number(BEGIN_WORDS + BOOT_NUMBERS + at),
  );
  return {
    isBoot: payload[1] === 1,
    layoutHash: unsigned(0),
    bundleCrc: unsigned(1),
    settingsSequence: unsigned(2),
    tick: unsigned(3),
    word: number(5),
    codes,
    boot: Array.from({ length: BOOT_NUMBERS }, (_, at) => number(BEGIN_WORDS + at)),
    counts: [counts & 0xffff, payload[2], counts >>> 16],
  };
}

/** Numbers of seven bits a byte, lowest first, to the end; undefined if the last is cut. */
function readVarints(bytes: Uint8Array): number[] | undefined {
  const numbers: number[] = [];
  let value = 0;
  let places = 0;
  for (const byte of bytes) {
    value += (byte & 0x7f) * 2 ** (7 * places);
    places++;
    if (places > VARINT_BYTES_MAX) return undefined;
    if ((byte & 0x80) !== 0) continue;
    numbers.push(value);
    value = places = 0;
  }
  return places === 0 ? numbers : undefined;
}

function addNumbers(segment: Segment, payload: Uint8Array): boolean {
  const list = segment.lists[payload[0]];
  const numbers = readVarints(payload.subarray(NUMBERS_HEAD_BYTES));
  if (list === undefined || numbers === undefined) return false;
  if (list.length !== (payload[1] | (payload[2] << 8))) return false;
  list.push(...numbers.map(unzigzag));
  return true;
}

function addEvent(segment: Segment, payload: Uint8Array): boolean {
  const numbers = readVarints(payload);
  if (numbers?.length !== 4) return false;
  const [number, id, detail, atMs] = numbers;
  segment.add({ kind: 'event', event: { number, id, detail: unzigzag(detail), atMs } });
  return true;
}

export { LogEnd };
