# The trial inside the container: each row is something that happens to a potter's board.
. /trial/rows.sh
. /trial/bounds.sh
export TZ=UTC
kiln=/etc/saggar/kiln.toml

# Longer than the trial, and soon cold again.
cat >/trial/flat-out.toml <<'EOF'
title = "Flat out"
scale = "C"
[[segment]]
rate = "flat out"
to = 200
soak = "20 h"
EOF

echo '| | what | seen |'
echo '| --- | --- | --- |'

# --- as installed
row "the package installs" dpkg --install /trial/saggar.deb
row "the service is enabled, and says by itself that it is ready" within 10 unit_is ActiveState active
row "its status is a sentence" within 10 status_says '^The kiln rests at'
row "it runs as the user saggar" runs_as saggar
row "the page answers: at rest" phase_is resting
row "every pin is off" all_is_off
row "the kiln file is good, and the simulated kiln's" saggar check "$kiln"
row "no file in /etc/saggar is dpkg's to ask about" no_conffile_in /etc/saggar
row "systemd finds nothing wrong with its units" quiet systemd-analyze verify --man=no saggar.service \
  saggar-take-over.service saggar-take-over.timer
row "exposure (systemd-analyze security)" exposure_at_most 20
row "within the unit's bounds: the clock's question is answered" in_its_bounds clock
row "within the unit's bounds: the clock cannot be set" in_its_bounds clock-set
row "within the unit's bounds: to be first to run and to lock memory may be asked for" in_its_bounds real-time
row "within the unit's bounds: other files and processes are out of reach" in_its_bounds elsewhere
row "needrestart is told to leave it alone" needrestart_leaves_it
row "bash completes its commands" completes_in_bash

# --- an upgrade and a removal while it fires
install -o saggar -g saggar /trial/flat-out.toml /var/lib/saggar/schedules/
row "a firing is lit" heating
old=$(main_pid)
row "an upgrade during the firing goes through" dpkg --install /trial/later.deb
row "and leaves the daemon alone" unit_is MainPID "$old"
row "which fires on" within 20 heats
row "the new version waits" unit_is ActiveState active saggar-take-over.timer
row "a removal is refused" refused "Remove it when that is over" dpkg --remove saggar
row "and the package whole" unit_is_installed
row "the firing goes on" within 20 heats
row "a person shuts off" saggar shut-off
row "then it is over" within 90 saggar at-rest
row "the new version takes over" systemctl start saggar-take-over.service
row "in a process of its own" within 10 another_process_than "$old"
row "and waits no longer" within 5 unit_is ActiveState inactive saggar-take-over.timer
row "the firing is in the logbook" logbook_tells shut-off

# --- a kiln file that the new version refuses
cp "$kiln" /trial/kept.toml
echo 'nonsense = 1' >>"$kiln"
old=$(main_pid)
row "an upgrade to a version that refuses the kiln file goes through" dpkg --install /trial/saggar.deb
row "and leaves the daemon alone" unit_is MainPID "$old"
systemctl restart saggar.service 2>/dev/null
row "started with it, it ends at once" within 5 unit_is ActiveState failed
row "and is not started again" stays 7 unit_is NRestarts 0
row "its log says where the mistake stands" log_says 'kiln.toml:[0-9]*:[0-9]*:'
cp /trial/kept.toml "$kiln"

# --- programs that fail, on a kiln in real time
speed 1
row "a kiln in real time heats" heating
row "the daemon is killed: off" signalled_off 3 KILL
row "it comes back at rest" within 15 phase_is resting
row "and every pin stays off" stays 3 all_is_off
row "it heats again" heating
row "daemon and warden are stopped, as by a debugger: off" both_stopped_off 13
row "it comes back at rest" within 15 phase_is resting
row "the watchdog did it" log_says 'Watchdog timeout'
row "it heats again" heating
row "the service is stopped: off" stopped_off
row "by a hand that is told so, a pin left on is driven off" left_on_driven_off

# --- starts that come to nothing
row "a data folder held by another: five starts, then off" ends_in_off
row "and a person starts it anew" started_anew

# --- gone
row "at rest it is removed" dpkg --remove saggar
row "nothing of it runs" nothing_runs
row "every pin is off" all_is_off
row "a purge takes the kiln file" dpkg --purge saggar
row "keeps a copy of it with the logbook" cmp /var/lib/saggar/kiln.toml /trial/real-time.toml
row "and leaves no file but those" only_data_left
row "installed anew, it knows the old firings" knows_old_firings
row "masked nowhere, enabled again" systemctl is-enabled saggar.service
echo 'the trial is over'
