-- The notebook's steps in DuckDB: duckdb < run.sql, beside the folders
-- fast_scanner.run and other.run (the same brief with another seed).

-- what became of the candidates
select status, first_limit, count(*) as designs
from 'fast_scanner.run/candidates.parquet' group by all order by designs desc;

-- units and meanings are in the file
select decode(key) as key, decode(value) as value
from parquet_kv_metadata('fast_scanner.run/candidates.parquet') where decode(key) like 'unit:%' limit 5;

-- the front
select id, travel_mm, first_frequency_hz, peak_stress_mpa
from 'fast_scanner.run/front.parquet' order by travel_mm desc;

-- a tighter limit: a design stays when no other is as good in both goals and better in one
create temp table tight as
with good as (
  select * from 'fast_scanner.run/candidates.parquet' where feasible and peak_stress_mpa <= 120
)
select * from good a where not exists (
  select 1 from good b
  where b.travel_mm >= a.travel_mm and b.first_frequency_hz >= a.first_frequency_hz
    and (b.travel_mm > a.travel_mm or b.first_frequency_hz > a.first_frequency_hz)
);
select id, travel_mm, first_frequency_hz, peak_stress_mpa from tight order by travel_mm desc;

-- two runs: how many designs of each are on the common front
with both_fronts as (
  select 1 as run, travel_mm, first_frequency_hz from 'fast_scanner.run/front.parquet'
  union all
  select 2, travel_mm, first_frequency_hz from 'other.run/front.parquet'
)
select run, count(*) as designs from both_fronts a where not exists (
  select 1 from both_fronts b
  where b.travel_mm >= a.travel_mm and b.first_frequency_hz >= a.first_frequency_hz
    and (b.travel_mm > a.travel_mm or b.first_frequency_hz > a.first_frequency_hz)
) group by run order by run;

-- pick the design nearest to the best of both goals, as shares of the front's ranges
with ends as (
  select max(travel_mm) as t1, min(travel_mm) as t0, max(first_frequency_hz) as f1, min(first_frequency_hz) as f0 from tight
)
select id, travel_mm, first_frequency_hz, peak_stress_mpa from tight, ends
order by ((t1 - travel_mm) / (t1 - t0)) ** 2 + ((f1 - first_frequency_hz) / (f1 - f0)) ** 2 limit 1;
