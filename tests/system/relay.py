# SPDX-License-Identifier: Apache-2.0
"""relay - a TCP relay between a node and a broker that can delay, in order and without loss.

It passes bytes and knows nothing of what is in them. Each direction has a delay that may change
while it runs; bytes never overtake each other, so a delayed stream arrives in order without gaps.
"""

import collections
import select
import socket
import threading
import time


class Pipe:
    """One direction of one connection."""

    def __init__(self, source, sink):
        self.source = source
        self.sink = sink
        self.queue = collections.deque()  # (due, bytes)
        self.last_due = 0.0


class DelayRelay:
    """Listens on `port` and forwards to `target`; delays in seconds."""

    def __init__(self, port, target):
        self.target = target
        self.to_broker_s = 0.0
        self.to_node_s = 0.0
        self.cut = False
        self.running = True
        self.pipes = []
        self.listener = socket.create_server(("127.0.0.1", port))
        self.thread = threading.Thread(target=self.run, daemon=True)
        self.thread.start()

    def accept(self):
        node, _ = self.listener.accept()
        try:
            broker = socket.create_connection(("127.0.0.1", self.target), timeout=1)
        except OSError:
            node.close()
            return
        node.setblocking(False)
        broker.setblocking(False)
        up, down = Pipe(node, broker), Pipe(broker, node)
        up.up, down.up = True, False
        self.pipes += [up, down]

    def drop(self, pipe):
        for other in [p for p in self.pipes if pipe.source in (p.source, p.sink)]:
            self.pipes.remove(other)
        for end in (pipe.source, pipe.sink):
            end.close()

    def read(self, pipe):
        try:
            data = pipe.source.recv(65536)
        except BlockingIOError:
            return
        except OSError:
            data = b""
        if not data:
            self.drop(pipe)
            return
        delay = self.to_broker_s if pipe.up else self.to_node_s
        pipe.last_due = max(pipe.last_due, time.monotonic() + delay)
        pipe.queue.append((pipe.last_due, data))

    def write(self, pipe):
        while pipe.queue and pipe.queue[0][0] <= time.monotonic() and not self.cut:
            due, data = pipe.queue.popleft()
            try:
                sent = pipe.sink.send(data)
            except BlockingIOError:
                sent = 0
            except OSError:
                self.drop(pipe)
                return
            if sent < len(data):
                pipe.queue.appendleft((due, data[sent:]))
                return

    def run(self):
        while self.running:
            sources = {p.source: p for p in self.pipes}
            ready, _, _ = select.select([self.listener] + list(sources), [], [], 0.005)
            for end in ready:
                if end is self.listener:
                    self.accept()
                elif sources[end] in self.pipes:
                    self.read(sources[end])
            for pipe in list(self.pipes):
                if pipe in self.pipes:
                    self.write(pipe)
        for pipe in list(self.pipes):
            pipe.source.close()
            pipe.sink.close()
        self.listener.close()

    def stop(self):
        self.running = False
        self.thread.join()


class Strait:
    """All four endpoints of two buses through relays; a folder of a node that uses them."""

    def __init__(self, ship, free_port):
        import shutil
        self.dir = ship.dir.parent / (ship.dir.name + "-far")
        shutil.copytree(ship.dir, self.dir)
        text = (self.dir / "bus.yaml").read_text()
        self.relays = {}
        for demo, port in ship.ports.items():
            mine = free_port()
            self.relays[demo] = DelayRelay(mine, port)
            text = text.replace(":%d" % port, ":%d" % mine)
        (self.dir / "bus.yaml").write_text(text)

    def delay(self, to_broker_s=0.0, to_node_s=0.0):
        for relay in self.relays.values():
            relay.to_broker_s = to_broker_s
            relay.to_node_s = to_node_s

    def stop(self):
        import shutil
        for relay in self.relays.values():
            relay.stop()
        shutil.rmtree(self.dir, ignore_errors=True)
