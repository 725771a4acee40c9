"""How many addresses a second python3-netaddr reads and writes; prints the rate alone."""
import time
import netaddr

texts = ["00-00-5E-00-53-01", "00:00:5e:00:53:02", "0000.5e00.5303", "00005E005304", "0:0:5e:0:53:5"]
rounds = 8000
start = time.perf_counter()
for _ in range(rounds):
    for text in texts:
        str(netaddr.EUI(text, version=48))
print("%.0f" % (len(texts) * rounds / (time.perf_counter() - start)))
