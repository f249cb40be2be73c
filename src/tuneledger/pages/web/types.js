/**
 * What a page knows. The same as `shape.py`, key by key; a test holds the two equal.
 *
 * @typedef {object} Packed
 * @property {number} offset
 * @property {number} count
 * @property {number} width
 * @property {number} decimals
 * @property {boolean} gaps
 *
 * @typedef {object} EntryData
 * @property {string} title
 * @property {string} basis
 * @property {Packed} values
 *
 * @typedef {object} AccountData
 * @property {number} base
 * @property {number} gap_s
 * @property {number} decimals
 * @property {string[]} sources
 * @property {Packed} scheduled
 * @property {Packed} delivered
 * @property {Packed | null} rehearsed
 * @property {Packed} own
 * @property {Packed} void
 * @property {string[]} regimes
 * @property {Packed} regime
 * @property {EntryData[]} entries
 * @property {Packed | null} cells
 *
 * @typedef {object} ScaleData
 * @property {string} kind
 * @property {number} factor
 * @property {number} offset
 * @property {boolean} gauge
 *
 * @typedef {object} ChannelData
 * @property {string} name
 * @property {string} unit
 * @property {ScaleData | null} scale
 * @property {string} signal
 * @property {number} base
 * @property {number} gap_s
 * @property {boolean} step
 * @property {Packed} values
 *
 * @typedef {object} LogData
 * @property {string} file
 * @property {number} end_s
 * @property {Packed[]} bases
 * @property {AccountData | null} account
 * @property {ChannelData[]} channels
 * @property {number[]} context
 *
 * @typedef {object} LineData
 * @property {number} at
 * @property {string} side
 * @property {string} says
 *
 * @typedef {object} StripData
 * @property {number} log
 * @property {number} channel
 * @property {LineData[]} lines
 *
 * @typedef {object} EpisodeData
 * @property {number} log
 * @property {number} start_s
 * @property {number} end_s
 * @property {number} sign
 *
 * @typedef {object} CauseData
 * @property {string} key
 * @property {string} title
 * @property {number[]} episodes
 * @property {StripData[]} strips
 * @property {number[]} cells
 * @property {number} layer
 *
 * @typedef {object} AxisData
 * @property {string} name
 * @property {string} unit
 * @property {ScaleData | null} scale
 * @property {number[]} at
 *
 * @typedef {object} LayerData
 * @property {string} title
 * @property {(number | null)[][]} values
 *
 * @typedef {object} MapData
 * @property {AxisData} rows
 * @property {AxisData} columns
 * @property {(number | null)[][]} values
 * @property {LayerData[]} layers
 *
 * @typedef {object} NoteData
 * @property {string} cause
 * @property {string} title
 * @property {boolean} expected
 * @property {string} says
 *
 * @typedef {object} NotesData
 * @property {string} format
 * @property {string[]} files
 * @property {NoteData[]} notes
 *
 * @typedef {object} PageData
 * @property {LogData[]} logs
 * @property {EpisodeData[]} episodes
 * @property {CauseData[]} causes
 * @property {MapData | null} map
 * @property {number} tolerance_deg
 * @property {NotesData} notes
 */

export {};
