// A relay between browser and daemon that can be cut, as Wi-Fi is, while the daemon goes on, and mended to
// another daemon, as when the program was started anew.

import { once } from "node:events";
import { connect, createServer } from "node:net";
import { ADDRESS } from "./browser.mjs";

export async function throughRelay(daemon = ADDRESS) {
  let to = daemon;
  const open = new Set();
  const serve = () =>
    createServer((near) => {
      const far = connect(Number(to.port || 80), to.hostname);
      for (const [one, other] of [[near, far], [far, near]]) {
        open.add(one);
        one.on("error", () => other.destroy());
        one.on("close", () => {
          open.delete(one);
          other.destroy();
        });
        one.pipe(other);
      }
    });

  let server = serve();
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  const { port } = server.address();

  return {
    address: new URL(`http://127.0.0.1:${port}/`),
    async cut() {
      const closed = once(server, "close");
      server.close();
      for (const socket of open) socket.destroy();
      await closed;
    },
    async mend(daemon = to) {
      to = daemon;
      server = serve();
      server.listen(port, "127.0.0.1");
      await once(server, "listening");
    },
  };
}
