/** A bar on standard error for work that takes longer than a second. */

import type { SingleBar } from 'cli-progress';
import { printable } from '../text/printable.ts';

/** No bar is shown before this many ms: most work is over by then. */
const PATIENCE = 1000;

export class Progress {
  private readonly label: string;
  private readonly silent: boolean;
  private readonly unit: string;
  private readonly started = Date.now();
  private bar: SingleBar | undefined;
  private loading = false;

  /**
   * @param silent show nothing. A bar is shown on a terminal only, never in a log.
   * @param unit of what is counted.
   */
  constructor(label: string, silent: boolean, unit = 's') {
    // The label may contain the name of a file.
    this.label = printable(label);
    this.unit = unit;
    this.silent = silent || !process.stderr.isTTY;
  }

  /**
   * @param done seconds of sound, or other units, so far.
   * @param total in all, if that is known.
   */
  show(done: number, total: number | undefined): void {
    if (this.silent || Date.now() - this.started < PATIENCE) return;
    if (this.bar === undefined) {
      void this.open(total);
      return;
    }
    this.bar.update(Math.round(done));
  }

  end(): void {
    this.bar?.stop();
    this.bar = undefined;
  }

  private async open(total: number | undefined): Promise<void> {
    if (this.loading) return;
    this.loading = true;
    const { default: cliProgress } = await import('cli-progress');
    const known =
      total === undefined
        ? `{value} ${this.unit}`
        : `{bar} {value} of {total} ${this.unit}, {eta_formatted} left`;
    this.bar = new cliProgress.SingleBar({
      format: `${this.label} ${known}`,
      stream: process.stderr,
      clearOnComplete: true,
      hideCursor: true,
    });
    this.bar.start(Math.round(total ?? 0), 0);
  }
}
