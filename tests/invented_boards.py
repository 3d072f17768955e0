"""Invented boards that the tests of several folders use."""

MILL = """
[board]
id = "mill-486"
class = "486-vlb"
buses = ["vlb", "isa"]
rails_v = [5.0]
sheet_confirmed = true
snoop_line = false
[[jumper]]
id = "JP3"
positions = ["1-2", "2-3"]
sets = { bus_mhz = { "1-2" = 33, "2-3" = 40 } }
[[option]]
id = "l1_policy"
choices = ["wt", "wb"]
label = "CPU cache mode"
[[card]]
slot = "isa4"
bus = "isa"
kind = "disk"
master = true
dma = true
[fitted]
cpu = "A80486DX2WB66"
memory = [{ site = "b0", mb = 8, count = 4, type = "fpm", ns = 60 }]
[now]
JP3 = "1-2"
l1_policy = "wt"
"""
