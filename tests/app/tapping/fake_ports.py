"""Controllers of a test: plugged in, pulled out and played on, in a thread of their own as a driver does."""

import threading


class FakePort:
    def __init__(self, ports, name, callback):
        self.ports, self.name, self.callback = ports, name, callback

    def close(self):
        self.ports.open_ones.remove(self)


class FakePorts:
    def __init__(self, *names):
        self.there = list(names)
        self.open_ones = []
        self.error = None
        self.busy = set()

    def names(self):
        if self.error is not None:
            raise self.error
        return list(self.there)

    def open(self, name, callback):
        if name in self.busy or name not in self.there:
            raise OSError(f"{name} cannot be opened")
        self.open_ones.append(FakePort(self, name, callback))
        return self.open_ones[-1]

    def play(self, *messages):
        def work():
            for port in list(self.open_ones):
                for message in messages:
                    port.callback(message)

        thread = threading.Thread(target=work)
        thread.start()
        thread.join()
