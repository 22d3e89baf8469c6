/**
 * The order in which modules run within a sample: each after those that drive it. Modules in a
 * feedback cycle form one group; what comes back round a cycle comes one sample late.
 *
 * Method: strongly connected components, Tarjan, "Depth-first search and linear graph algorithms",
 * SIAM J. Comput. 1 (1972) 146-160 (from memory). Everything is decided by the modules' names, so
 * the order of lines in the file changes nothing.
 */

/** A directed graph on nodes 0..n-1: for each node, the nodes that drive it. */
export interface DriverGraph {
  readonly names: readonly string[];
  readonly drivers: readonly (readonly number[])[];
}

/**
 * Orders a graph.
 * @returns groups of nodes in running order; a group of more than one node is a cycle.
 */
export function runningOrder(graph: DriverGraph): readonly (readonly number[])[] {
  const byName = (a: number, b: number): number =>
    (graph.names[a] as string) < (graph.names[b] as string) ? -1 : 1;
  const drivers = graph.drivers.map((list) => [...new Set(list)].sort(byName));
  const starts = graph.names.map((_, node) => node).sort(byName);

  const groups: number[][] = [];
  const index = new Array<number>(starts.length).fill(-1);
  const low = new Array<number>(starts.length).fill(0);
  const onStack = new Array<boolean>(starts.length).fill(false);
  const stack: number[] = [];
  let visited = 0;
  const enter = (node: number): void => {
    index[node] = low[node] = visited;
    visited += 1;
    stack.push(node);
    onStack[node] = true;
  };

  for (const start of starts) {
    if (index[start] !== -1) continue;
    // An explicit stack of calls, since a chain of thousands of modules would exhaust the real one.
    const calls = [{ node: start, next: 0 }];
    enter(start);
    while (calls.length > 0) {
      const call = calls[calls.length - 1] as { node: number; next: number };
      const { node } = call;
      const driver = drivers[node]?.[call.next];
      if (driver !== undefined) {
        call.next += 1;
        if (index[driver] === -1) {
          enter(driver);
          calls.push({ node: driver, next: 0 });
        } else if (onStack[driver]) {
          low[node] = Math.min(low[node] as number, index[driver] as number);
        }
        continue;
      }
      calls.pop();
      const caller = calls[calls.length - 1];
      if (caller !== undefined)
        low[caller.node] = Math.min(low[caller.node] as number, low[node] as number);
      if (low[node] === index[node]) {
        const group = stack.splice(stack.indexOf(node));
        for (const member of group) onStack[member] = false;
        groups.push(group.length > 1 ? orderCycle(group.sort(byName), drivers) : group);
      }
    }
  }
  return groups;
}

/**
 * Orders the members of a cycle so that few connections run backwards: next is always the one with the fewest
 * drivers still to come, the first by name among equals.
 */
function orderCycle(members: readonly number[], drivers: readonly (readonly number[])[]): number[] {
  const waiting = new Set(members);
  const ordered: number[] = [];
  while (waiting.size > 0) {
    let best = -1;
    let fewest = Number.POSITIVE_INFINITY;
    for (const node of waiting) {
      const open = (drivers[node] ?? []).filter((d) => d !== node && waiting.has(d)).length;
      if (open < fewest) {
        fewest = open;
        best = node;
      }
    }
    waiting.delete(best);
    ordered.push(best);
  }
  return ordered;
}
