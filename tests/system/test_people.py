# SPDX-License-Identifier: Apache-2.0
"""test_people - everyone on the bus: by voice, acknowledgements, overrides, sensors, the groove."""

import re
import socket
import threading
import time
import unittest

from ship import ENGINE_STATE, TRAPLINE, Ship, free_port

RESOUND_S = 30.0


class Gauges:
    """A sensor that says the same lines four times a second to a UDP port, until it is silent."""

    def __init__(self, port, *lines):
        self.port = port
        self.lines = list(lines)
        self.running = True
        self.thread = threading.Thread(target=self.send, daemon=True)
        self.thread.start()

    def send(self):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as out:
            while self.running:
                if self.lines:
                    out.sendto("".join(line + "\n" for line in self.lines).encode(),
                               ("127.0.0.1", self.port))
                time.sleep(0.25)

    def stop(self):
        self.running = False
        self.thread.join()


def number_of(line):
    return re.search(r"\[ack (\d+)\]", line).group(1)


class People(unittest.TestCase):
    def engine_by_voice(self, ship, weight):
        for words in ("set %d" % weight, "battery in", "accumulator 405", "gap 6.50",
                      *ENGINE_STATE):
            ship.say("deck", "voice engine-2 " + words)
        self.agree(ship, 2)

    def agree(self, ship, waiting):
        """The second signer agrees to what its screen shows as waiting."""
        until = time.monotonic() + 20
        while len([v for v in ship.show()[1]["by_voice"] if not v["confirmed_by"]]) < waiting:
            self.assertLess(time.monotonic(), until)
        ship.say("gear-officer", "agree engine-2")

    def test_one_dead_engine_room_does_not_end_the_recovery(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            code, out = ship.do("deck", "voice engine-2 set 34000")
            self.assertNotEqual(code, 0, out)
            self.assertIn("it speaks for itself", out)
            ship.running.pop("engine-2").kill()
            ship.until_show(1, ["station-lost:engine-2"])
            for words in ("set 34000", "battery in", "accumulator 405", "gap 6.50", *ENGINE_STATE):
                ship.say("deck", "voice engine-2 " + words)
            picture = ship.until_show(1, ["station-lost:engine-2"])
            self.assertTrue(all(v["confirmed_by"] is None for v in picture["by_voice"]))
            self.agree(ship, 7)
            ship.say("primary", "repeaters 34000")
            picture = ship.until_show(0, [])
            said = {v["kind"]: (v["said_by"], v["confirmed_by"]) for v in picture["by_voice"]}
            self.assertEqual(said, dict.fromkeys(
                ("set", "battery", "accumulator", "crosshead", "service", "fluid", "fault"),
                ("deck", "gear-officer")))
            for name in ("engine-1", "safety", "platform"):
                ship.running[name].wait_text(
                    "BY VOICE engine-2: set 34,000 lb (deck, gear-officer)")
            # the next aircraft, with the terminal still dead
            ship.say("platform", "trap 3")
            ship.say("engine-3", "arrest 181.2 3.5")
            ship.order(117, "curlew", 44000, engines=(1, 3, 4))
            self.engine_by_voice(ship, 44000)
            ship.say("primary", "repeaters 44000")
            ship.until_show(0, [])
            # either signer takes it back at once
            ship.say("deck", "unsign engine-2")
            ship.until_show(1, ["station-lost:engine-2", "setting-not-ordered:engine-2",
                                "not-in-battery:engine-2"])
            # and it comes back to speak for itself
            ship.station("engine-2")
            for words in ("set 44000", "battery in", "accumulator 405", "gap 6.50",
                          *ENGINE_STATE, "watch Ash"):
                ship.say("engine-2", words)
            ship.say("primary", "repeater 2 44000")
            picture = ship.until_show(0, [])
            self.assertEqual([v for v in picture["by_voice"] if v["confirmed_by"]], [])

    def alert_when(self, ship, test):
        until = time.monotonic() + 20
        while True:
            alert = next(a for a in ship.show()[1]["alerts"] if a["rule"] == "sheave-down")
            if test(alert):
                return alert
            self.assertLess(time.monotonic(), until, alert)

    def test_an_alert_is_acknowledged_by_name_and_sounds_again(self):
        with Ship(full=True) as ship:
            script = ship.dir / "sounder"
            script.write_text("#!/bin/sh\necho \"sounder: $1, $2, $3, $4\" >&2\n")
            script.chmod(0o700)
            ship.brokers()
            ship.validators()
            for name in ship.names:
                ship.station(name, extra=("--on-alert", script) if name == "primary" else ())
            ship.heard()
            ship.open_recovery()
            ship.order(204, "plover", 34000)
            ship.until_show(0)
            primary, wires, deck = (ship.running[n] for n in ("primary", "wires", "deck"))
            marks = {p: p.mark() for p in (primary, wires, deck)}
            ship.say("wires", "sheave 2 down")
            at, line = primary.wait_text("ALERT alarm: wires: sheave not up", marks[primary])
            primary.wait_text("sounder: raised, alarm, sheave-down, wires", marks[primary])
            owed = wires.wait_text("ALERT alarm: wires: sheave not up", marks[wires])[1]
            self.assertNotIn("[ack", deck.wait_text("ALERT alarm: wires", marks[deck])[1])
            code, out = ship.do("deck", "ack 1")
            self.assertNotEqual(code, 0, out)
            ship.say("wires", "ack " + number_of(owed))
            alert = self.alert_when(ship, lambda a: a["acknowledged"] == ["wires"] and
                                    {"deck", "primary", "wires"} <= set(a["delivered"]))
            self.assertEqual(sorted(alert["owed"]), ["primary", "wires"])
            again, still = primary.wait_text("STILL ALERT alarm: wires", marks[primary], 40)
            self.assertTrue(RESOUND_S - 0.5 <= again - at <= RESOUND_S + 1.5, again - at)
            self.assertIn("not acknowledged by primary", still)
            primary.wait_text("sounder: again, alarm, sheave-down, wires", marks[primary])
            self.assertFalse([l for _, l in wires.lines[marks[wires]:] if "STILL ALERT alarm" in l])
            ship.say("primary", "ack " + number_of(line))
            primary.wait_text("alert acknowledged, alarm: wires", marks[primary])
            deck.wait_text("alert acknowledged, alarm: wires", marks[deck])
            ship.until_show(1, ["sheave-down:wires"])  # silenced, not cleared
            ship.say("wires", "sheave 2 up")
            deck.wait_text("alert gone, alarm: wires", marks[deck])
            primary.wait_text("sounder: gone, alarm, sheave-down, wires", marks[primary])
            ship.until_show(0, [])

    def test_sensors_speak_for_a_station_and_silence_is_unknown(self):
        with Ship(full=True) as ship:
            ports = {name: free_port() for name in ("engine-1", "primary")}
            dials = ["repeater-%d 34000 lb" % n for n in (1, 2, 3, 4)]
            gauges = [Gauges(ports["engine-1"], "accumulator 405 psi", "crosshead-gap 6.50 in"),
                      Gauges(ports["primary"], *dials)]
            try:
                ship.brokers()
                ship.validators()
                for name in ship.names:
                    feed = ("--feed", "udp://127.0.0.1:%d" % ports[name]) if name in ports else ()
                    ship.station(name, extra=feed)
                ship.heard()
                ship.say("primary", "open")
                for name in ("primary", "platform", "gear-officer", "safety"):
                    ship.say(name, "no foul")
                code, out = ship.do("engine-1", "accumulator 405")
                self.assertEqual((code, "a sensor speaks for that" in out), (2, True), out)
                ship.standing_words(keyed_engines=(2, 3, 4))
                ship.say("primary", "order 204 plover 34000")
                ship.words_for(204, "plover", 34000, repeaters=False)
                ship.until_show(0, [])
                gauges[0].lines[0] = "accumulator 370 psi"
                ship.until_show(1, ["accumulator-pressure:engine-1"])
                gauges[0].lines[0] = "accumulator 405 psi"
                ship.until_show(0, [])
                gauges[1].lines[2] = "repeater-3 40000 lb"
                ship.until_show(1, ["repeater-differs:engine-3"])
                gauges[1].lines[2] = "repeater-3 34000 lb"
                ship.until_show(0, [])
                gauges[0].lines.clear()
                ship.until_show(1, ["accumulator-pressure:engine-1", "crosshead-gap:engine-1"])
                ship.running["engine-1"].wait_text("ready")
                gauges[0].lines += ["accumulator 405 psi", "crosshead-gap 6.50 in", "nonsense"]
                ship.until_show(0, [])
                ship.running["engine-1"].wait_text("sensor lines not understood")
            finally:
                for gauge in gauges:
                    gauge.stop()

    def test_two_sign_an_override_and_either_takes_it_back(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            ship.say("gear-officer", "cable 1 61")
            ship.until_show(1, ["detorque-overdue:gear-officer"])
            code, out = ship.do("deck", "override detorque-overdue gear-officer 5 one pass")
            self.assertNotEqual(code, 0, out)
            code, out = ship.do("primary", "override setting-other-aircraft engine-1 5 never")
            self.assertNotEqual(code, 0, out)
            ship.say("primary", "override detorque-overdue gear-officer 5 one pass")
            ship.until_show(1, ["detorque-overdue:gear-officer"])
            ship.say("safety", "agree override")
            picture = ship.until_show(0, [])
            self.assertEqual([(o["rule"], o["said_by"], o["confirmed_by"])
                              for o in picture["overrides"]],
                             [("detorque-overdue", "primary", "safety")])
            ship.running["engine-4"].wait_text("OVERRIDE override detorque-overdue")
            ship.say("safety", "unsign override")
            ship.until_show(1, ["detorque-overdue:gear-officer"])
            ship.say("gear-officer", "cable 1 61 61")
            ship.until_show(0, [])

    def test_wave_off_groove_stop_and_the_approach_list(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            platform = ship.running["platform"]
            platform.wait_text("groove: engines set 34,000 lb - aid plover - deck clear")
            ship.say("deck", "foul equipment 12")
            platform.wait_text("groove: engines set 34,000 lb - aid plover - deck foul, about 1")
            ship.say("deck", "clear")
            ship.until_show(0, [])
            ship.say("safety", "stop")
            picture = ship.until_show(1, ["stop:safety"])
            self.assertEqual({d["station"]: d["state"] for d in picture["deck"]},
                             {"deck": "clear", "platform": "no-foul", "primary": "no-foul",
                              "gear-officer": "no-foul", "safety": "stop"})
            self.assertEqual(picture["wires"][1], {"wire": 2, "state": "rigged", "sheave": "up",
                                                   "pendant": "good"})
            code, out = ship.do("deck", "clear")
            self.assertEqual((code, "STOP" in out), (2, True), out)
            ship.say("safety", "no foul")
            ship.say("deck", "clear")
            ship.until_show(0, [])
            ship.say("approach", "inbound 117 curlew 42800 3200")
            ship.say("approach", "inbound 331 dunlin 14100")
            ship.say("approach", "low 117")
            ship.say("primary", "order 117 curlew 44000")
            ship.say("primary", "order 331 dunlin 14500")
            marks = {name: ship.running[name].mark() for name in ship.names}
            ship.say("platform", "wave-off")
            for name in ship.names:
                ship.running[name].wait_text("WAVE-OFF event 1: 204 plover", marks[name])
            picture = ship.show()[1]
            self.assertEqual(picture["last_pass"]["result"], "wave-off")
            self.assertEqual(picture["event"]["pass"], 2)
            ship.say("primary", "take")  # two keys: take, and the confirm
            self.assertEqual(ship.show()[1]["event"]["pass"], 3)
            ship.say("approach", "divert 331")
            picture = ship.show()[1]
            self.assertIn("ordered-diverted:approach",
                          ["%s:%s" % (c["rule"], c["station"]) for c in picture["causes"]])
            ship.say("primary", "cancel 331")
            self.assertEqual(ship.show()[1]["event"]["pass"], 2)

    def test_a_lost_validator_is_put_out_of_service_by_two(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            code, out = ship.do("primary", "out validator-2")
            self.assertEqual(code, 2, out)
            ship.running.pop("validator-2").kill()
            ship.until_show(1, ["no-validator:validator-2"])
            ship.say("primary", "out validator-2")
            ship.until_show(1, ["no-validator:validator-2"])
            ship.say("gear-officer", "agree out")
            ship.until_show(0, [])
            self.assertIn("ONE VALIDATOR", ship.call("show")[1])
            ship.validators("validator-2")
            until = time.monotonic() + 20
            while True:  # it counts again: all of it is there, and nobody is out of service
                code, out = ship.call("show")
                if code == 0 and "ONE VALIDATOR" not in out:
                    break
                self.assertLess(time.monotonic(), until, out)

    def test_the_watch_is_relieved_with_what_is_open(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            ship.say("deck", "watch Reed")
            ship.say("deck", "foul equipment")
            ship.until_show(1, ["deck-foul:deck"])
            code, out = ship.do("deck", "relieve Sedge", confirm=False)
            self.assertEqual(code, 2)
            self.assertIn("OPEN: 1 alerts to acknowledge; foul: equipment", out)
            ship.say("deck", "relieve Sedge")
            stations = {s["id"]: s["watch"] for s in ship.show()[1]["stations"]}
            self.assertEqual((stations["deck"], stations["aid"]), ("Sedge", "Ash"))
            self.assertIn(" deck Sedge;", ship.call("show")[1])


class Drill(unittest.TestCase):
    def test_a_drill_is_told_everywhere(self):
        with Ship(full=True) as ship:
            ship.all_up()
            ship.say("primary", "open drill")
            for name in ("safety", "engine-1", "aid"):
                ship.running[name].wait_text("DRILL NOT READY")
            self.assertTrue(ship.show()[1]["drill"])
            code, out = ship.call("watch", "--for", "1")
            self.assertIn("DRILL", out)


if __name__ == "__main__":
    unittest.main(verbosity=2)
