"""An invented valley for demonstrations and tests: no real place, person or price.

- `districts.csv`: three invented districts. Velmora (highland) has humidity, sun and wind, so
  that its ETo comes from equation 6; Aruneth has temperature and rain alone (equation 52);
  Kotsindo (lowland) gives ETo and dependable rain outright.
- `plots.json`: a dozen invented plots, each `{id, name, invented: true, card}`; planting dates are
  given only for crops that stay for years, since any other would be over one day.
- `prices.csv`: invented prices in an invented currency.

The files are data only: they are opened where files are opened, never from here.
"""
