/**
 * Invented recordings in the manners of loggers, phones and bus decoders, all of one drive: 2 s at 40 km/h, up at 6 km/h a
 * second to 112 km/h, down at 4 km/h a second. Straight lines with corners on samples, so that times through a band are
 * known exactly and not touched by the rate: 60 to 100 km/h in 20/3 s, 100 to 60 in 10 s.
 */
export interface FoundRecording {
  name: string;
  bytes: Uint8Array;
  /** column that must be taken as speed */
  speed: string;
  /** other channels by our word, with their column */
  channels?: Record<string, string>;
  /** error of a speed by its rounding [m/s]; default 0.0005 km/h */
  withinMps?: number;
  /** samples the speed has a value in; default all rows */
  valid?: number;
  /** error allowed of the times through the band [s], default 0.001 */
  withinS?: number;
  /** log's clock at its zero, seconds since 1970, where it has one */
  clockZeroS?: number;
  rows?: number;
}

export const RISE_S = 20 / 3;
export const FALL_S = 10;
const KMH = 1 / 3.6;
/** 2031-05-17 14:05:30 UTC, by `date -u -d "2031-05-17 14:05:30" +%s` */
export const START_S = 1936793130;

export function speedKmh(timeS: number): number {
  if (timeS <= 2) return 40;
  if (timeS <= 14) return 40 + 6 * (timeS - 2);
  return 112 - 4 * (timeS - 14);
}

/** One sample in all that a recording may tell of it. */
export interface Moment {
  i: number;
  t: number;
  kmh: number;
  mps: number;
  rpm: number;
  distanceM: number;
  latitude: number;
  longitude: number;
  /** share of full */
  throttle: number;
}

export function moments(rateHz = 10, lastS = 28): Moment[] {
  let distanceM = 0;
  return Array.from({length: Math.round(lastS * rateHz) + 1}, (_, i) => {
    const t = i / rateHz;
    const mps = speedKmh(t) * KMH;
    if (i > 0) distanceM += (mps + speedKmh((i - 1) / rateHz) * KMH) / 2 / rateHz;
    // due north on WGS 84 at 48 degrees: a degree of latitude is 111 192 m there (meridian radius 6 370 873 m)
    const latitude = 48 + distanceM / 111_192;
    const throttle = t > 2 && t <= 14 ? 1 : 0;
    return {
      i,
      t,
      kmh: speedKmh(t),
      mps,
      rpm: 30 * speedKmh(t),
      distanceM,
      latitude,
      longitude: 11.5,
      throttle,
    };
  });
}

const f = (value: number, digits: number) => value.toFixed(digits);
const comma = (value: number, digits: number) => value.toFixed(digits).replace(".", ",");
const utf8 = (text: string) => new TextEncoder().encode(text);
const latin1 = (text: string) => Uint8Array.from(text, c => c.charCodeAt(0));
function utf16(text: string): Uint8Array {
  const bytes = new Uint8Array(2 + 2 * text.length);
  bytes.set([0xff, 0xfe]);
  for (let i = 0; i < text.length; i++) {
    bytes[2 + 2 * i] = text.charCodeAt(i) & 255;
    bytes[3 + 2 * i] = text.charCodeAt(i) >> 8;
  }
  return bytes;
}

function table(head: string[], row: (m: Moment) => string, {rateHz = 10, newline = "\n"} = {}): string {
  return [...head, ...moments(rateHz).map(row)].join(newline) + newline;
}

const clock = (t: number, digits = 3) => {
  const seconds = 14 * 3600 + 5 * 60 + 30 + t;
  const pad = (n: number) => String(Math.floor(n)).padStart(2, "0");
  return `${pad(seconds / 3600)}:${pad((seconds / 60) % 60)}:${f(seconds % 60, digits).padStart(digits + 3, "0")}`;
};
const elapsedClock = (t: number) => `00:00:${f(t, 3).padStart(6, "0")}`;

/** Speeds are written with four decimals or fewer where nothing is lost by it. */
export const RECORDINGS: FoundRecording[] = [
  {
    name: "satellite logger with a head of keys and quoted names",
    bytes: utf8(
      table(
        [
          "Device,Track recorder 4",
          "Serial,001744",
          "Start,2031-05-17 14:05:30",
          "Rate,10 Hz",
          "",
          '"Time (s)","Satellites","Latitude (deg)","Longitude (deg)","Speed (km/h)","Heading (deg)","Height (m)","Vertical speed (m/s)","HDOP"',
        ],
        m =>
          `${f(m.t, 2)},14,${f(m.latitude, 8)},${f(m.longitude, 8)},${f(m.kmh, 3)},0.0,${f(412, 2)},0.00,0.7`,
      ),
    ),
    speed: "Speed (km/h)",
    channels: {
      satellites: "Satellites",
      hdop: "HDOP",
      height: "Height (m)",
      "vertical-speed": "Vertical speed (m/s)",
    },
  },
  {
    name: "semicolons, decimal commas, units on a line of their own, cp1252",
    bytes: latin1(
      table(
        [
          "Zeit;Geschwindigkeit;Motordrehzahl;K\u00fchlmitteltemperatur;Ansauglufttemperatur;Drosselklappe;Ladedruck",
          "s;km/h;1/min;\u00b0C;\u00b0C;%;mbar",
        ],
        m =>
          `${comma(m.t, 3)};${comma(m.kmh, 2)};${comma(m.rpm, 0)};${comma(88.5, 1)};${comma(31, 1)};${comma(100 * m.throttle, 1)};${comma(1450, 0)}`,
        {newline: "\r\n"},
      ),
    ),
    speed: "Geschwindigkeit",
    channels: {
      "engine-speed": "Motordrehzahl",
      "coolant-temperature": "K\u00fchlmitteltemperatur",
      "intake-temperature": "Ansauglufttemperatur",
      throttle: "Drosselklappe",
      "manifold-pressure": "Ladedruck",
    },
  },
  {
    name: "UTF-16 with tabs",
    bytes: utf16(
      table(
        ["Time [s]\tGPS_Speed [km/h]\tEngine_RPM [rpm]\tCoolant [\u00b0C]"],
        m => `${f(m.t, 2)}\t${f(m.kmh, 2)}\t${f(m.rpm, 0)}\t90`,
      ),
    ),
    speed: "GPS_Speed [km/h]",
    channels: {"engine-speed": "Engine_RPM [rpm]", "coolant-temperature": "Coolant [\u00b0C]"},
  },
  {
    name: "phone with nanoseconds since 1970 and accuracies, unit told by the positions",
    bytes: utf8(
      table(
        [
          "time,seconds_elapsed,bearingAccuracy,speedAccuracy,verticalAccuracy,horizontalAccuracy,speed,bearing,altitude,longitude,latitude",
        ],
        m =>
          `${BigInt(START_S) * 1_000_000_000n + BigInt(m.i) * 100_000_000n},${f(m.t, 6)},3.1,0.2,1.4,2.1,${f(m.mps, 5)},0.0,412.1,${f(m.longitude, 8)},${f(m.latitude, 8)}`,
      ),
    ),
    speed: "speed",
    channels: {
      "position-accuracy": "horizontalAccuracy",
      "speed-accuracy": "speedAccuracy",
      height: "altitude",
      course: "bearing",
    },
    clockZeroS: START_S,
  },
  {
    name: "satellite and diagnostic speed side by side",
    bytes: utf8(
      table(
        [
          "Device time,GPS latitude,GPS longitude,GPS altitude (m),Speed (OBD) (km/h),Speed (GPS) (km/h),Engine RPM (rpm),Throttle position (%),Acceleration x (g)",
        ],
        m =>
          `17.05.2031 ${clock(m.t)},${f(m.latitude, 7)},${f(m.longitude, 7)},412.1,${f(Math.round(m.kmh * 1.03), 0)},${f(m.kmh, 2)},${f(m.rpm, 0)},${f(100 * m.throttle, 1)},0.1`,
      ),
    ),
    speed: "Speed (GPS) (km/h)",
    channels: {
      "vehicle-speed": "Speed (OBD) (km/h)",
      "engine-speed": "Engine RPM (rpm)",
      throttle: "Throttle position (%)",
    },
    clockZeroS: START_S,
  },
  {
    name: "whole-number diagnostic log with a clock and twice-encoded degree signs",
    bytes: utf8(
      table(
        [
          "Time,Engine Coolant Temperature [\u00c2\u00b0C],Intake Manifold Absolute Pressure [kPa],Engine RPM [RPM],Vehicle Speed Sensor [km/h],Intake Air Temperature [\u00c2\u00b0C],Air Flow Rate from Mass Flow Sensor [g/s],Absolute Throttle Position [%],Ambient Air Temperature [\u00c2\u00b0C],Accelerator Pedal Position D [%],Accelerator Pedal Position E [%]",
        ],
        m =>
          `${clock(m.t)},88,101,${f(m.rpm, 0)},${f(Math.floor(m.kmh), 0)},31,15.2,${f(100 * m.throttle, 1)},21,${f(100 * m.throttle, 1)},${f(50 * m.throttle, 1)}`,
      ),
    ),
    speed: "Vehicle Speed Sensor [km/h]",
    channels: {
      "coolant-temperature": "Engine Coolant Temperature [\u00b0C]",
      "manifold-pressure": "Intake Manifold Absolute Pressure [kPa]",
      "engine-speed": "Engine RPM [RPM]",
      "intake-temperature": "Intake Air Temperature [\u00b0C]",
      "air-mass-flow": "Air Flow Rate from Mass Flow Sensor [g/s]",
      throttle: "Absolute Throttle Position [%]",
      "air-temperature": "Ambient Air Temperature [\u00b0C]",
      pedal: "Accelerator Pedal Position D [%]",
    },
    withinMps: 0.28,
    withinS: 0.2,
  },
  {
    name: "electric car with a mistyped bracket",
    bytes: latin1(
      table(
        [
          "Time [s];Velocity [km/h];Elevation [m];Throttle [%];Motor Torque [Nm];Longitudinal Acceleration [m/s^2];Battery Voltage [V];Battery Current [A];Battery Temperature [\u00b0C];SoC [%];max. SoC [%);Ambient Temperature [\u00b0C]",
        ],
        m => `${f(m.t, 1)};${f(m.kmh, 2)};412;${f(100 * m.throttle, 1)};90;1.6;391.4;-2.2;21;86.9;92;14.5`,
      ),
    ),
    speed: "Velocity [km/h]",
    channels: {
      height: "Elevation [m]",
      throttle: "Throttle [%]",
      torque: "Motor Torque [Nm]",
      acceleration: "Longitudinal Acceleration [m/s^2]",
      "battery-voltage": "Battery Voltage [V]",
      "air-temperature": "Ambient Temperature [\u00b0C]",
    },
  },
  {
    name: "test bench with words behind the bracket and no separate unit",
    bytes: utf8(
      table(
        [
          "Time[s]_RawFacilities\tDyno_Spd[mph]\tDyno_TractiveForce[N]\tEng_Spd__rpm\tEngine_Oil_Temp__C\tPedal_Accel_Pos__per\tCell_Temp[C]",
        ],
        m =>
          `${f(m.t, 1)}\t${f(m.mps / 0.44704, 4)}\t812.5\t${f(m.rpm, 1)}\t91.2\t${f(100 * m.throttle, 1)}\t22.4`,
      ),
    ),
    speed: "Dyno_Spd[mph]",
    channels: {"engine-speed": "Eng_Spd__rpm", "oil-temperature": "Engine_Oil_Temp__C"},
  },
  {
    name: "trip log in milliseconds with units in square brackets and NaN",
    bytes: utf8(
      table(
        [
          "DayNum,VehId,Trip,Timestamp(ms),Latitude[deg],Longitude[deg],Vehicle Speed[km/h],MAF[g/sec],Engine RPM[RPM],Absolute Load[%],OAT[DegC],Fuel Rate[L/hr],HV Battery Current[A],Short Term Fuel Trim Bank 1[%]",
        ],
        m =>
          `201.58,17,1044,${m.i * 100},${f(m.latitude, 9)},${f(m.longitude, 9)},${f(m.kmh, 4)},14.2,${f(m.rpm, 0)},55.1,NaN,NaN,NaN,0.8`,
      ),
    ),
    speed: "Vehicle Speed[km/h]",
    channels: {
      "air-mass-flow": "MAF[g/sec]",
      "engine-speed": "Engine RPM[RPM]",
      "engine-load": "Absolute Load[%]",
      "air-temperature": "OAT[DegC]",
      "fuel-trim-short": "Short Term Fuel Trim Bank 1[%]",
    },
  },
  {
    name: "bus decoder: each row refreshes one signal, the others are empty",
    bytes: utf8(
      table(["timestamp,VehicleSpeed [km/h],EngineSpeed [rpm],AccelPedalPos [%],CoolantTemp [degC]"], m =>
        [
          `${f(m.t, 4)},${f(m.kmh, 3)},,,`,
          `${f(m.t + 0.0123, 4)},,${f(m.rpm, 1)},,`,
          `${f(m.t + 0.0456, 4)},,,${f(100 * m.throttle, 1)},`,
          `${f(m.t + 0.0789, 4)},,,,${f(90, 0)}`,
        ].join("\n"),
      ),
    ),
    speed: "VehicleSpeed [km/h]",
    channels: {
      "engine-speed": "EngineSpeed [rpm]",
      pedal: "AccelPedalPos [%]",
      "coolant-temperature": "CoolantTemp [degC]",
    },
    rows: 4 * 281,
    valid: 281,
  },
  {
    name: "bus decoder with database, message and signal in the name",
    bytes: utf8(
      table(
        [
          "time [s],ABS_01.VehSpd [km/h],ECM_02.EngSpd [rpm],ECM_02.ThrotPos [%],ECM_03.IntakeAirTemp [\u00b0C],ESP_04.LatAccel [m/s2]",
        ],
        m => `${f(m.t, 3)},${f(m.kmh, 2)},${f(m.rpm, 0)},${f(100 * m.throttle, 1)},24,0.02`,
      ),
    ),
    speed: "ABS_01.VehSpd [km/h]",
    channels: {
      "engine-speed": "ECM_02.EngSpd [rpm]",
      throttle: "ECM_02.ThrotPos [%]",
      "intake-temperature": "ECM_03.IntakeAirTemp [\u00b0C]",
      "lateral-acceleration": "ESP_04.LatAccel [m/s2]",
    },
  },
  {
    name: "control unit variables with units in a second line",
    bytes: latin1(
      table(
        [
          "TIME;nmot_w;vfzg_w;wped_w;wdkba;tans;tmot;zwout;pvdks_w;plsol_w;lamsoni_w;dwkrz;gangi",
          "s;1/min;km/h;%;%;\u00b0C;\u00b0C;\u00b0KW;hPa;hPa;-;\u00b0KW;-",
        ],
        m =>
          `${f(m.t, 3)};${f(m.rpm, 0)};${f(m.kmh, 2)};${f(100 * m.throttle, 1)};${f(100 * m.throttle, 1)};31.5;88.5;14.25;1480;1500;0.98;-1.5;3`,
      ),
    ),
    speed: "vfzg_w",
    channels: {
      "engine-speed": "nmot_w",
      pedal: "wped_w",
      throttle: "wdkba",
      "intake-temperature": "tans",
      "coolant-temperature": "tmot",
      "spark-advance": "zwout",
      "manifold-pressure": "pvdks_w",
      "boost-target": "plsol_w",
      "lambda-target": "lamsoni_w",
      "knock-correction": "dwkrz",
      gear: "gangi",
    },
  },
  {
    name: "lower-case names with the unit behind an underscore",
    bytes: utf8(
      table(
        ["time_ms,speed_mph,engine_rpm,throttle_pct,iat_f,boost_psi,afr,lat,lon,alt_ft,sats"],
        m =>
          `${m.i * 100},${f(m.mps / 0.44704, 4)},${f(m.rpm, 0)},${f(100 * m.throttle, 0)},86,14.2,12.1,${f(m.latitude, 6)},${f(m.longitude, 6)},1352,11`,
      ),
    ),
    speed: "speed_mph",
    channels: {
      "engine-speed": "engine_rpm",
      throttle: "throttle_pct",
      "intake-temperature": "iat_f",
      "manifold-pressure": "boost_psi",
      "air-fuel-ratio": "afr",
      satellites: "sats",
    },
  },
  {
    name: "camel-case JSON names and an ISO time in UTC",
    bytes: utf8(
      table(
        ["timestampUtc,groundSpeedMps,headingDeg,altitudeMeters,numSatellites,fixType,hdop"],
        m => `2031-05-17T${clock(m.t)}Z,${f(m.mps, 5)},0.0,412.0,12,3,0.8`,
      ),
    ),
    speed: "groundSpeedMps",
    channels: {course: "headingDeg", height: "altitudeMeters", satellites: "numSatellites", fix: "fixType"},
    clockZeroS: START_S,
  },
  {
    name: "boat manners: knots, date and UTC clock apart",
    bytes: utf8(
      table(
        ["Date,UTC,SOG (kn),COG (deg),Lat (deg),Lon (deg),Sat,Fix"],
        m =>
          `17/05/2031,${clock(m.t, 2)},${f((m.mps * 900) / 463, 4)},0.0,${f(m.latitude, 7)},${f(m.longitude, 7)},10,1`,
      ),
    ),
    speed: "SOG (kn)",
    channels: {course: "COG (deg)", fix: "Fix", satellites: "Sat"},
    clockZeroS: START_S,
  },
  {
    name: "elapsed clock and decimal comma",
    bytes: utf8(
      table(
        ["Elapsed time;Speed 2D [km/h];Speed 3D [km/h];Distance [m];Long. acc. [g];Lat. acc. [g]"],
        m =>
          `${elapsedClock(m.t).replace(".", ",")};${comma(m.kmh, 3)};${comma(m.kmh + 0.02, 3)};${comma(m.distanceM, 2)};0,17;0,00`,
      ),
    ),
    speed: "Speed 2D [km/h]",
    channels: {
      distance: "Distance [m]",
      acceleration: "Long. acc. [g]",
      "lateral-acceleration": "Lat. acc. [g]",
    },
  },
  {
    name: "epoch in milliseconds and four wheel speeds beside the satellites'",
    bytes: utf8(
      table(
        [
          "Unix Timestamp (ms),GPS Speed (m/s),Wheel Speed FL (km/h),Wheel Speed FR (km/h),Wheel Speed RL (km/h),Wheel Speed RR (km/h),RPM",
        ],
        m =>
          `${START_S * 1000 + m.i * 100},${f(m.mps, 5)},${f(m.kmh, 2)},${f(m.kmh + 0.1, 2)},${f(m.kmh * 1.02, 2)},${f(m.kmh * 1.02, 2)},${f(m.rpm, 0)}`,
      ),
    ),
    speed: "GPS Speed (m/s)",
    channels: {"engine-speed": "RPM"},
    clockZeroS: START_S,
  },
  {
    name: "unit as the whole header",
    bytes: utf8(
      table(["s,km/h,rpm,%"], m => `${f(m.t, 1)},${f(m.kmh, 2)},${f(m.rpm, 0)},${f(100 * m.throttle, 0)}`),
    ),
    speed: "km/h",
  },
  {
    name: "single letters with units",
    bytes: utf8(
      table(
        ["t [s]\tv [m/s]\tn [1/min]\ta_x [m/s^2]"],
        m => `${f(m.t, 2)}\t${f(m.mps, 5)}\t${f(m.rpm, 0)}\t0.5`,
      ),
    ),
    speed: "v [m/s]",
    channels: {acceleration: "a_x [m/s^2]", "engine-speed": "n [1/min]"},
  },
  {
    name: "names, units and sources on three lines, behind a head of 40 lines",
    bytes: utf8(
      table(
        [
          ...Array.from({length: 40}, (_, k) => `# parameter ${k}: ${k * 7}`),
          "Time,Speed,Speed,Engine speed,Throttle",
          "System,GPS,Wheel,ECU,ECU",
          "s,km/h,km/h,rpm,%",
        ],
        m => `${f(m.t, 1)},${f(m.kmh, 2)},${f(m.kmh * 1.01, 2)},${f(m.rpm, 0)},${f(100 * m.throttle, 0)}`,
      ),
    ),
    speed: "Speed (GPS)",
    channels: {"engine-speed": "Engine speed", throttle: "Throttle"},
  },
  {
    name: "unit behind a bar in the header",
    bytes: utf8(
      table(
        ['"Interval|ms","Speed|km/h","RPM|rpm","TPS|%","Latitude|deg","Longitude|deg"'],
        m =>
          `${m.i * 100},${f(m.kmh, 2)},${f(m.rpm, 0)},${f(100 * m.throttle, 0)},${f(m.latitude, 7)},${f(m.longitude, 7)}`,
      ),
    ),
    speed: "Speed|km/h",
    channels: {"engine-speed": "RPM|rpm", throttle: "TPS|%"},
  },
  {
    name: "a path in front of every name",
    bytes: utf8(
      table(
        [
          "time,/vehicle/gps/speed [m/s],/vehicle/engine/speed [rpm],/vehicle/engine/coolant_temperature [degC],/vehicle/pedal/position [%]",
        ],
        m => `${f(m.t, 3)},${f(m.mps, 5)},${f(m.rpm, 0)},90,${f(100 * m.throttle, 0)}`,
      ),
    ),
    speed: "/vehicle/gps/speed [m/s]",
    channels: {
      "engine-speed": "/vehicle/engine/speed [rpm]",
      "coolant-temperature": "/vehicle/engine/coolant_temperature [degC]",
      pedal: "/vehicle/pedal/position [%]",
    },
  },
  {
    name: "row number first, date-time with zone, values with their unit in the cell",
    bytes: utf8(
      table(
        ["No,Date time,Speed,Altitude,Course"],
        m => `${m.i + 1},2031-05-17T${clock(m.t)}+00:00,${f(m.kmh, 2)} km/h,412.0 m,0.0\u00b0`,
      ),
    ),
    speed: "Speed",
    channels: {height: "Altitude", course: "Course"},
    clockZeroS: START_S,
  },
  {
    name: "month-first time with half of the day",
    bytes: utf8(
      table(
        [
          "Timestamp,Ground Speed (mph),Accuracy (ft),Altitude (ft),Engine Speed (RPM),Ignition Timing (\u00b0)",
        ],
        m =>
          `05/17/2031 0${clock(m.t).slice(1).replace(/^4/, "2")} PM,${f(m.mps / 0.44704, 4)},9.8,1352,${f(m.rpm, 0)},12.5`,
      ),
    ),
    speed: "Ground Speed (mph)",
    channels: {
      "position-accuracy": "Accuracy (ft)",
      "engine-speed": "Engine Speed (RPM)",
      "spark-advance": "Ignition Timing (\u00b0)",
    },
    clockZeroS: START_S,
  },
  {
    name: "satellite speed in two units, and a target",
    bytes: utf8(
      table(
        [
          "Time (sec),Speed (km/h),Speed (mph),Boost (bar),Boost target (bar),Lambda,Lambda target,Knock retard (deg)",
        ],
        m => `${f(m.t, 2)},${f(m.kmh, 2)},${f(m.mps / 0.44704, 2)},0.8,0.85,0.87,0.86,0.0`,
      ),
    ),
    speed: "Speed (km/h)",
    channels: {
      "manifold-pressure": "Boost (bar)",
      "boost-target": "Boost target (bar)",
      lambda: "Lambda",
      "lambda-target": "Lambda target",
      "knock-correction": "Knock retard (deg)",
    },
  },
  {
    name: "rows at 50 Hz over a satellite fix of 10 Hz that is held",
    bytes: utf8(
      table(
        ["Time,Speed_GPS,Accel_X,Accel_Y,Yaw_Rate", "sec,kph,g,g,deg/sec"],
        m => {
          const t = Math.floor(m.t * 10 + 1e-9) / 10;
          return `${f(m.t, 2)},${f(speedKmh(t), 2)},0.17,0.01,0.2`;
        },
        {rateHz: 50},
      ),
    ),
    speed: "Speed_GPS",
    channels: {acceleration: "Accel_X", "yaw-rate": "Yaw_Rate"},
    withinMps: 0.17,
    withinS: 0.1,
    rows: 1401,
  },
  {
    name: "dashes for no value, a trailing separator and a byte-order mark",
    bytes: utf8(
      `\ufeff${table(["Time(s);Veh. speed(km/h);Eng. speed(rpm);MAP(kPa);IAT(\u00b0C);TPS(%);"], m => `${f(m.t, 2)};${f(m.kmh, 2)};${f(m.rpm, 0)};--;--;${f(100 * m.throttle, 1)};`, {newline: "\r\n"})}`,
    ),
    speed: "Veh. speed(km/h)",
    channels: {"engine-speed": "Eng. speed(rpm)", throttle: "TPS(%)"},
  },
  {
    name: "microseconds since start, names with typing errors and trailing blanks",
    bytes: utf8(
      table(
        [
          "Time [us] ,Vehcile speed [km/h] ,Engine speeed [rpm] ,Acclerator pedal [%] ,Coolant temprature [C] ",
        ],
        m => `${m.i * 100_000},${f(m.kmh, 2)},${f(m.rpm, 0)},${f(100 * m.throttle, 0)},91`,
      ),
    ),
    speed: "Vehcile speed [km/h]",
    channels: {
      "engine-speed": "Engine speeed [rpm]",
      pedal: "Acclerator pedal [%]",
      "coolant-temperature": "Coolant temprature [C]",
    },
  },
  {
    name: "telemetry with speed named for the receiver and no unit but positions",
    bytes: utf8(
      table(
        ["deviceID,timeStamp,gps_speed,speed,rpm,tPos,lat,lng"],
        m =>
          `7,2031-05-17 ${clock(m.t)},${f(m.kmh, 3)},${f(Math.round(m.kmh * 1.02), 0)},${f(m.rpm, 0)},${f(100 * m.throttle, 0)},${f(m.latitude, 8)},${f(m.longitude, 8)}`,
      ),
    ),
    speed: "gps_speed",
    channels: {"engine-speed": "rpm"},
    clockZeroS: START_S,
  },
  {
    name: "one tick a row of a counter in tenths, beside seconds of the day",
    bytes: utf8(
      table(
        ["Sample,Seconds of day (s),Velocity (km/h),Height above sea level (m),Number of satellites,PDOP"],
        m => `${m.i},${f(50730 + m.t, 2)},${f(m.kmh, 2)},412.2,13,1.4`,
      ),
    ),
    speed: "Velocity (km/h)",
    channels: {satellites: "Number of satellites", height: "Height above sea level (m)"},
  },
];
