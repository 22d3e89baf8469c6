/** How often each level came, in steps of 1 dB: enough to tell the level of the quiet parts. */

/** dB against full scale. */
const LOWEST = -200;
const HIGHEST = 59;

export class LevelCount {
  private readonly counts = new Float64Array(HIGHEST - LOWEST + 1);
  private total = 0;

  add(power: number): void {
    const db = power > 0 ? Math.round(10 * Math.log10(power)) : LOWEST;
    const cell = Math.max(LOWEST, Math.min(HIGHEST, db)) - LOWEST;
    this.counts[cell] = (this.counts[cell] as number) + 1;
    this.total++;
  }

  /** The power that `share` of all were below; 0 for none. */
  level(share: number): number {
    let sum = 0;
    for (let cell = 0; cell < this.counts.length; cell++) {
      sum += this.counts[cell] as number;
      if (sum > share * this.total) return cell === 0 ? 0 : 10 ** ((cell + LOWEST) / 10);
    }
    return 0;
  }
}
