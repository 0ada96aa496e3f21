/** A worker of the scorecard: plays the plans it is sent, one at a time, and sends back their outcomes. */
import { runTrial, type Plan } from './trial.ts';

process.on('message', (plan: Plan) => {
  process.send!({ plan, outcome: runTrial(plan) });
});
process.on('disconnect', () => process.exit(0));
