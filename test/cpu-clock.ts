/**
 * Processor time of this process since the call [ms]: what a bound on slowness is held to, since a machine that does other things as
 * well makes any work take longer by the clock.
 */
export function cpuClock(): () => number {
  const start = process.cpuUsage();
  return () => {
    const {user, system} = process.cpuUsage(start);
    return (user + system) / 1000;
  };
}
