/**
 * The yardstick of the load bench, a process of its own: subscribes, counts COUNT packets, prints packets a second,
 * ends. Arguments: PORT FILTER COUNT.
 */
import { connectAsync } from 'mqtt';

const [port = '', filter = '', wanted = ''] = process.argv.slice(2);
const client = await connectAsync(`mqtt://127.0.0.1:${port}`);
let [count, firstMs] = [0, 0];
client.on('message', () => {
  if (count === 0) firstMs = performance.now();
  count += 1;
  if (count !== Number(wanted)) return;
  process.stdout.write(`rate ${((count - 1) * 1_000) / (performance.now() - firstMs)}\n`);
  client.end();
});
await client.subscribeAsync(filter, { qos: 1 });
process.stdout.write('ready\n');
