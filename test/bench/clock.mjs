/** Processor time of this process, ns. */
export function processorTime() {
  const { user, system } = process.cpuUsage();
  return (user + system) * 1000;
}

/**
 * Times functions by turns.
 * @param turns functions without arguments, each doing the same amount of work.
 * @returns the least processor time of each over `rounds` rounds, ns; the first round is left out.
 */
export function leastTimes(turns, rounds = 7) {
  const least = turns.map(() => Number.POSITIVE_INFINITY);
  for (let round = 0; round < rounds; round++) {
    turns.forEach((turn, index) => {
      const start = processorTime();
      turn();
      const spent = processorTime() - start;
      if (round > 0) least[index] = Math.min(least[index], spent);
    });
  }
  return least;
}
