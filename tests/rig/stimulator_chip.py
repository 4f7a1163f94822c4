"""The stimulator's firmware on its simulated chip, spoken to in the chip's own time."""

import os
import subprocess

import wire_page as wire

FOLDER = os.environ.get("BOBWEIGHT_RIG", "target/rig")


class StimulatorChip:
    """`now` is in nanoseconds of the chip's time, which is exact: its clock is the simulator's."""

    def __init__(self, *keys: str) -> None:
        command = [f"{FOLDER}/stimulator_alone", f"{FOLDER}/stimulator.elf", *keys]
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.receiver = wire.Receiver()
        self.pickup: list[tuple[float, int]] = []
        self.throttle: list[int] = []
        self.volts = 0.0
        self.now = 0.0
        self.sequence = 0
        self.let_pass(2e6)

    def tell(self, line: str) -> None:
        self.process.stdin.write(line + "\n")

    def send(self, message: bytes) -> int:
        self.sequence = (self.sequence + 1) % 256
        self.tell("send " + wire.frame(self.sequence, message).hex())
        return self.sequence

    def let_pass(self, ns: float) -> None:
        self.now += ns
        self.tell(f"run {self.now:.0f}")
        self.process.stdin.flush()
        while True:
            what, *rest = self.process.stdout.readline().split()
            if what == "pickup":
                self.pickup.append((float(rest[1]), int(rest[0])))
            elif what == "sent":
                self.receiver.take(bytes.fromhex(rest[0]))
            elif what == "throttle":
                self.throttle.append(int(rest[0]))
            else:
                self.volts = float(rest[1])
                return

    def run(self, ns: float) -> None:
        """Lets time pass with a sign of life every half second."""
        end = self.now + ns
        while self.now < end:
            self.send(wire.KEEP_ALIVE)
            self.let_pass(min(5e8, end - self.now))

    def ask(self, message: bytes) -> object:
        """The answer, within a tenth of a second."""
        number = self.send(message)
        self.receiver.replies.pop(number, None)
        for _ in range(50):
            self.let_pass(2e6)
            if number in self.receiver.replies:
                return self.receiver.replies[number]
        raise AssertionError(f"no answer to {message.hex()}; faults: {self.receiver.faults}")

    def do(self, message: bytes) -> int:
        said = self.ask(message)
        assert said == "accepted", f"{message.hex()}: {said}"
        return self.sequence

    def end(self) -> str:
        """What the program says of stack, interrupts and sleep."""
        self.process.stdin.close()
        said = self.process.stderr.read()
        assert self.process.wait(60) == 0, said
        return said.strip()
