/**
 * The numbers of the core's state in the order in which a device tells them, which is that of a snapshot.
 * A core here can be put to a device's state, and the CRC-32 of its state is the device's if both are
 * the same.
 */
import type { Core } from '../../controller/core.js';
import { fieldNames, restore, snapshot } from '../../controller/snapshot.js';
import { crc32 } from '../pack/crc.js';

export class StateWords {
  /** Names in the device's order, such as `account.slotsMs[3]`. */
  readonly names: readonly string[];
  private readonly bytes: Uint8Array;
  private readonly view: DataView;

  constructor(private readonly core: Core) {
    this.names = fieldNames(core.state);
    this.bytes = new Uint8Array(4 * this.names.length);
    this.view = new DataView(this.bytes.buffer);
  }

  /** The numbers in the device's order. */
  values(): number[] {
    return snapshot(this.core.state);
  }

  /** Puts the core to a device's state. */
  adopt(values: readonly number[]): void {
    restore(this.core.state, values);
  }

  /** CRC-32/ISO-HDLC over the numbers as int32, little-endian. */
  crc(): number {
    this.values().forEach((value, index) => this.view.setInt32(4 * index, value, true));
    return crc32(this.bytes);
  }
}

/** The word of the tick that a core has just made, as controller/bundle.ts gives it. */
export function wordOf({ state }: Core, isLampLit: boolean): number {
  const { pump, enable, lamp, reason } = state.output;
  const lit = isLampLit ? 1024 : 0;
  return pump | (enable << 1) | (lamp << 2) | (reason << 5) | lit | (state.cutoffs.active << 11);
}
