/**
 * A model of the flash cache (datasheet 2.6.3: 16 KB, two ways, lines of eight bytes): which line of
 * flash each read touches, and whether it was there. It takes addresses and gives counts. The cycles
 * a miss costs are not modelled: they depend on the flash chip and are to be measured on silicon.
 */

const SETS = 1024;
const LINE_SHIFT = 3;

export class CacheModel {
  hits = 0;
  misses = 0;
  /** Two lines a set; -1 is empty. */
  private readonly lines = new Int32Array(2 * SETS).fill(-1);
  /** Which of the two is replaced next: the one not used last. */
  private readonly replaced = new Uint8Array(SETS);

  /** One read of flash. */
  touch(address: number): void {
    const line = (address & 0xffffff) >>> LINE_SHIFT;
    const set = line & (SETS - 1);
    const first = 2 * set;
    const lines = this.lines;
    if (lines[first] === line) {
      this.hits++;
      this.replaced[set] = 1;
    } else if (lines[first + 1] === line) {
      this.hits++;
      this.replaced[set] = 0;
    } else {
      this.misses++;
      const way = this.replaced[set];
      lines[first + way] = line;
      this.replaced[set] = way ^ 1;
    }
  }

  /** Empties the cache, as `flash_flush_cache` and a reset do. */
  flush(): void {
    this.lines.fill(-1);
    this.replaced.fill(0);
  }
}
