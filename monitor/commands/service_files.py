"""What the system needs to know to keep the daemon running: texts of files, filled in by the commands."""

UNIT = """\
[Unit]
Description=Holdwater: how much water is left, and for how long
After=network.target mosquitto.service time-sync.target
StartLimitIntervalSec=0

[Service]
Type=notify
NotifyAccess=main
ExecStart={command} run {rig}
ExecReload=/bin/sh -c "kill -HUP ${{MAINPID}}"
Restart=always
RestartSec=2
WatchdogSec=20
TimeoutStopSec=30
User={user}
Group={user}
SupplementaryGroups=dialout
WorkingDirectory={home}
ReadWritePaths={home}
LimitNOFILE=4096
MemoryMax=512M
TasksMax=64
UMask=0077
NoNewPrivileges=yes
CapabilityBoundingSet=
AmbientCapabilities=
ProtectSystem=strict
ProtectHome=yes
PrivateTmp=yes
PrivateMounts=yes
DevicePolicy=closed
DeviceAllow=char-ttyUSB rw
DeviceAllow=char-ttyACM rw
DeviceAllow=char-ttyAMA rw
DeviceAllow=char-ttyS rw
ProtectKernelTunables=yes
ProtectKernelModules=yes
ProtectKernelLogs=yes
ProtectControlGroups=yes
ProtectClock=yes
ProtectHostname=yes
ProtectProc=invisible
ProcSubset=pid
RestrictAddressFamilies=AF_UNIX AF_INET AF_INET6
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
MemoryDenyWriteExecute=yes
RemoveIPC=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged @resources

[Install]
WantedBy=multi-user.target
"""

UDEV = """\
# A serial adapter keeps its name wherever it is plugged in: /dev/holdwater-SERIAL (udevadm info -a shows the serial).
SUBSYSTEM=="tty", ENV{ID_BUS}=="usb", ENV{ID_SERIAL_SHORT}=="?*", SYMLINK+="holdwater-$env{ID_SERIAL_SHORT}", GROUP="dialout", MODE="0660"
"""  # noqa: E501

BROKER = """\
# Every node has a password of its own, and may say nothing in another's name.
listener {port}
certfile {folder}/page.crt
keyfile {folder}/page.key
tls_version tlsv1.2
allow_anonymous false
password_file {folder}/passwords
acl_file {folder}/acl
message_size_limit 16384
max_connections 64
max_queued_messages 1000
max_inflight_messages 20
persistence false
"""

ACL_OF_RIG = """\
user rig
topic read holdwater/#
topic write holdwater/rig/#
"""

ACL_OF_NODE = """\
user {node}
topic write holdwater/{node}/#
topic read holdwater/rig/permit
"""
