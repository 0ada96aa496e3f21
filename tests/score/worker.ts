/**
 * A worker of the scorecard: plays the plans it is sent, one at a time, and sends back their outcomes and what they
 * cost.
 */
import { runRepair, type RepairPlan } from './repair-trial.ts';
import { runTrial, type Plan } from './trial.ts';

process.on('message', (plan: Plan | RepairPlan) => {
  const before = process.cpuUsage();
  const outcome = 'overS' in plan ? runRepair(plan) : runTrial(plan);
  const { user, system } = process.cpuUsage(before);
  process.send!({ outcome, usedS: (user + system) / 1e6 });
});
process.on('disconnect', () => process.exit(0));
