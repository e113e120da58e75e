# Sourced by the trial: rows of the table, and what they look at.

pins=/var/lib/saggar/pins

# row WHAT COMMAND…: passes when the command does.
row() {
  local what="$1" said
  shift
  if said=$("$@" 2>&1); then
    printf '| pass | %s | %s |\n' "$what" "$(tail -n 1 <<<"$said" | cut -c 1-100)"
  else
    printf '| FAIL | %s | %s |\n' "$what" "$(tr '\n' ' ' <<<"$said")"
  fi
}

ms() { echo $(($(date +%s%N) / 1000000)); }

# within SECONDS COMMAND…: how long until it holds.
within() {
  local most="$1" began
  began=$(ms)
  shift
  until "$@" >/dev/null 2>&1; do
    [ $(($(ms) - began)) -lt $((most * 1000)) ] || { echo "not within $most s: $*"; return 1; }
    sleep 0.02
  done
  echo "after $(($(ms) - began)) ms"
}

# stays SECONDS COMMAND…: it holds all the time.
stays() {
  local end=$(($(ms) + $1 * 1000))
  shift
  while [ "$(ms)" -lt "$end" ]; do
    "$@" >/dev/null 2>&1 || { echo "not all the time: $*"; return 1; }
    sleep 0.05
  done
}

# refused WORDS COMMAND…: it fails, and says why.
refused() {
  local words="$1" said
  shift
  if said=$("$@" 2>&1); then echo "it was not refused"; return 1; fi
  grep "$words" <<<"$said" || { echo "$said"; return 1; }
}

# quiet COMMAND…: it succeeds and says nothing.
quiet() {
  local said
  said=$("$@" 2>&1) && [ -z "$said" ] || { echo "$said"; return 1; }
}

# --- the service
property() { systemctl show --property "$1" --value "${2:-saggar.service}"; }
unit_is() { [ "$(property "$1" "${3:-}")" = "$2" ] || { property "$1" "${3:-}"; return 1; }; }
main_pid() { property MainPID saggar.service; }
warden_pid() { pgrep --parent "$(main_pid)"; }
runs_as() { [ "$(stat -c %U "/proc/$(main_pid)" "/proc/$(warden_pid)" | sort -u)" = "$1" ]; }
another_process_than() { [ "$(main_pid)" != 0 ] && [ "$(main_pid)" != "$1" ] && saggar status; }
status_says() { property StatusText | grep "$1"; }
log_says() { journalctl --no-pager --output=cat --unit=saggar | grep -m 1 "$1"; }
nothing_runs() { ! pgrep saggar; }

# --- the kiln
phase_is() { saggar status --json | grep -o "\"phase\":\"$1\""; }
# The tenth is the heartbeat, neither level of which energises anything.
all_is_off() { ! cut -c 1-9 "$pins" | grep 1; }
# The contactor's pin is the ninth; the banks' come before it.
contactor_is_closed() { [ "$(cut -c 9 "$pins")" = 1 ]; }
heats() { contactor_is_closed && cut -c 1-8 "$pins" | grep 1; }

light() {
  local confirm=() check
  for check in cones-placed load-clear lid-shut nothing-burns within-call; do confirm+=(--confirm "$check"); done
  saggar light-up "$1" "${confirm[@]}"
}

heating() {
  within 15 phase_is resting && light flat-out.toml && within 20 heats
}

# speed TIMES: how fast the simulated kiln runs, in its file.
speed() {
  sed -i "s/^seed = .*/&\nspeed = $1/" /etc/saggar/kiln.toml
  cp /etc/saggar/kiln.toml /trial/real-time.toml
  systemctl reset-failed saggar.service
  systemctl restart saggar.service
}

# --- failures
signalled_off() {
  kill "-$2" "$(main_pid)"
  within "$1" all_is_off
}

both_stopped_off() {
  kill -STOP "$(warden_pid)" "$(main_pid)"
  sleep 2
  contactor_is_closed || { echo "off before anything could have switched it off: no trial"; return 1; }
  within "$1" all_is_off
}

stopped_off() {
  systemctl stop saggar.service && all_is_off && ! pgrep saggar
}

left_on_driven_off() {
  systemctl start saggar.service
  kill -STOP "$(warden_pid)" "$(main_pid)"
  printf 1 | dd of="$pins" bs=1 seek=2 conv=notrunc status=none
  systemctl kill --signal=KILL saggar.service
  within 5 all_is_off && log_says 'bank 3 was not off: driven off'
}

ends_in_off() {
  systemctl stop saggar.service
  systemctl reset-failed saggar.service
  mkdir -p /run/systemd/system/saggar.service.d
  printf '[Service]\nRestartSec=100ms\n' >/run/systemd/system/saggar.service.d/hurry.conf
  systemctl daemon-reload
  exec 9>>/var/lib/saggar/lock
  flock --nonblock 9
  systemctl start saggar.service 2>/dev/null
  within 20 log_says 'Start request repeated too quickly' && unit_is ActiveState failed && unit_is NRestarts 5 &&
    stays 3 all_is_off && unit_is ActiveState failed && unit_is NRestarts 5
}

started_anew() {
  rm -r /run/systemd/system/saggar.service.d
  systemctl daemon-reload
  systemctl reset-failed saggar.service
  systemctl start saggar.service && phase_is resting
}

# --- the package
unit_is_installed() { dpkg-query --show --showformat '${db:Status-Status} ${Version}\n' saggar | grep '^installed '; }
no_conffile_in() { ! dpkg-query --show --showformat '${Conffiles}\n' saggar | grep " $1/"; }
logbook_tells() { runuser -u saggar -- saggar logbook --data /var/lib/saggar | grep "$1"; }
knows_old_firings() { dpkg --install /trial/saggar.deb && logbook_tells interrupted && phase_is resting; }

only_data_left() {
  local left
  left=$(find / -xdev \( -path /proc -o -path /sys -o -path /run -o -path /var/lib/saggar -o -path /var/log -o -path /tmp \) \
    -prune -o -iname '*saggar*' ! -path '/trial/*' ! -path '/var/lib/systemd/*' -print)
  [ -z "$left" ] || { echo "$left"; return 1; }
}

exposure_at_most() {
  systemd-analyze security --no-pager --threshold="$1" saggar.service | grep -o 'Overall exposure level .*'
}

needrestart_leaves_it() {
  perl -e 'our %nrconf = (override_rc => {}); do "/etc/needrestart/conf.d/saggar.conf" // die $@;
    my @told = grep { "saggar.service" =~ /$_/ and $nrconf{override_rc}{$_} == 0 } keys %{ $nrconf{override_rc} };
    exit(@told != 1)'
}

completes_in_bash() {
  bash -c '. /usr/share/bash-completion/completions/saggar; COMP_WORDS=(saggar ligh); COMP_CWORD=1
    _saggar saggar ligh saggar; echo "${COMPREPLY[@]}"' | grep '^light-up$'
}
