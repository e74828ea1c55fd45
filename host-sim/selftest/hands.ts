/**
 * Who does at the emulated board what the person is asked to do at a real one: moves switches and sensors,
 * plugs the pump. With a real port nobody looks at these hands, and the person's own count.
 */
import type { Board } from '../../boards/emulator/board.js';
import type { Readings } from '../../controller/readings.js';
import type { EmulatorOptions } from '../link/emulator.js';

export class Hands {
  private readonly readings: Partial<Readings> = {};
  private board: Board | undefined;

  /** How an emulated board is made that these hands are at. */
  readonly emulator: EmulatorOptions = {
    scene: () => this.readings,
    onBoard: (board) => (this.board = board),
  };

  /** Switches (0 or 1) and sensors, in the units of readings. */
  move(change: Partial<Readings>): void {
    Object.assign(this.readings, change);
  }

  /** Plugs the pump in, or unplugs it. */
  plug(isPlugged: boolean): void {
    if (this.board) this.board.circuit.fault = isPlugged ? 'none' : 'open';
  }
}
