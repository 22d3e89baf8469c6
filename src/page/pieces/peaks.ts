/** A waveform as columns: the lowest and the highest sample of each. */

export interface PeakColumn {
  readonly low: number;
  readonly high: number;
}

/** @param channels of the same length; all count alike. */
export function peaksOf(
  channels: readonly Float32Array[],
  frames: number,
  columns: number,
): readonly PeakColumn[] {
  return Array.from({ length: columns }, (_, column) => {
    const from = Math.floor((column * frames) / columns);
    const to = Math.max(from + 1, Math.floor(((column + 1) * frames) / columns));
    let low = 0;
    let high = 0;
    for (const samples of channels)
      for (let frame = from; frame < to; frame++) {
        const value = samples[frame] ?? 0;
        if (value < low) low = value;
        if (value > high) high = value;
      }
    return { low, high };
  });
}

/** The outline of a waveform as an SVG path, full scale filling the height. @param level a factor. */
export function waveformPath(
  columns: readonly PeakColumn[],
  height: number,
  level: number,
): string {
  const y = (value: number): string =>
    ((1 - Math.max(-1, Math.min(1, value * level))) * (height / 2)).toFixed(1);
  const above = columns.map(({ high }, x) => `${x} ${y(high)}`);
  const below = columns.map(({ low }, x) => `${x} ${y(low)}`).reverse();
  return `M${[...above, ...below].join('L')}Z`;
}
