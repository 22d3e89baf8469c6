/** A folder in the system's place for temporary files, which is gone when this process has ended. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { begin, end } from './unfinished.ts';

export class TemporaryFolder {
  readonly path: string;

  /** @throws the system's error. */
  constructor() {
    begin(this);
    try {
      this.path = mkdtempSync(join(tmpdir(), 'forehear-'));
    } catch (error) {
      end(this);
      throw error;
    }
  }

  /** Removes it with all that is in it. */
  abandon(): void {
    rmSync(this.path, { recursive: true, force: true });
    end(this);
  }
}
