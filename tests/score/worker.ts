/**
 * A worker of the scorecard: plays the plans it is sent, one at a time, and sends back their outcomes and what they
 * cost.
 */
import { runTrial, type Plan } from './trial.ts';

process.on('message', (plan: Plan) => {
  const before = process.cpuUsage();
  const outcome = runTrial(plan);
  const { user, system } = process.cpuUsage(before);
  process.send!({ outcome, usedS: (user + system) / 1e6 });
});
process.on('disconnect', () => process.exit(0));
