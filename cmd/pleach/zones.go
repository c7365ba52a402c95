package main

import _ "time/tzdata" // so that a plan's time zone is known on every machine
